"""Fit to answer, fit with something to look at, or not fit: and why, in words that name nobody."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db import DatabaseError, connection
from django.utils import timezone

from compliance.models import CheckedDay
from compliance.operations import readiness as module
from compliance.operations.readiness import State, readiness
from roster.models import Verb
from roster.record.write import record
from tests.cast import Cast
from tests.compliance.operations.rows import run_of
from tests.factories import SiteFactory

pytestmark = pytest.mark.django_db


def test_an_empty_service_is_ready() -> None:
    """Nothing is late where there is nothing."""
    found = readiness()
    assert found.state == State.READY
    assert found.looked_at == dict.fromkeys(("database", "migrations", "record key", "broker", "checks"), "ok")


def test_without_a_database_nothing_else_is_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """A service that cannot read its records is not fit."""

    def away() -> None:
        raise DatabaseError("connection to server at 10.0.0.1 failed")

    monkeypatch.setattr(connection, "cursor", away)
    found = readiness()
    assert (found.state, found.looked_at) == (State.NOT_READY, {"database": "does not answer"})


def test_with_migrations_missing_it_is_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    """The code is newer than the tables. Once they are applied nobody looks again."""
    monkeypatch.setattr(module, "_applied", set())
    plan: list[Any] = [("compliance", "0042"), ("compliance", "0043")]
    monkeypatch.setattr(module.MigrationExecutor, "migration_plan", lambda *_: plan)
    found = readiness()
    assert found.state == State.NOT_READY
    assert found.looked_at["migrations"] == "2 are not applied; run manage.py migrate"
    assert "broker" not in found.looked_at
    plan.clear()
    assert readiness().looked_at["migrations"] == "ok"
    plan.append(("compliance", "0044"))
    assert readiness().looked_at["migrations"] == "ok"


def test_with_another_record_key_it_is_not_ready(settings: Any) -> None:
    """What it would write into the record could not be verified."""
    record(Verb.CHECKED, "the seals")
    assert readiness().looked_at["record key"] == "ok"
    settings.RECORD_KEY = "of another machine"
    found = readiness()
    assert found.state == State.NOT_READY
    assert found.looked_at["record key"] == "RECORD_KEY is not the one with which the record was sealed"


def test_a_broker_that_is_away_is_told_and_pages_go_on(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """A real address where nobody listens."""
    settings.ONE_PROCESS = False
    from compliance.config.celery import app

    with app.connection_for_read(url="redis://127.0.0.1:1/0") as dead:
        monkeypatch.setattr(app, "connection_for_read", lambda **_: dead)
        found = readiness()
    assert found.state == State.DEGRADED
    assert found.looked_at["broker"].startswith("does not answer")


def test_late_checks_are_told_by_number(cast: Cast) -> None:
    """Neither site is named to strangers; one checked today does not count."""
    found = readiness()
    assert found.state == State.DEGRADED
    assert found.looked_at["checks"] == "sites whose last check is too old: 2; see the page Nights"
    assert "Ferrowick" not in str(found)
    now = timezone.now()
    for site in (cast.ferrowick, cast.tansy_gate):
        run = run_of(site, now - timedelta(hours=1))
        CheckedDay.objects.create(site=site, day=now.astimezone(site.zone).date(), run=run)
    assert readiness().state == State.READY
    SiteFactory.create()
    assert readiness().looked_at["checks"].startswith("sites whose last check is too old: 1;")
