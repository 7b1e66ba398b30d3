"""`manage.py demo --once`: the invented school in a terminal, and kept apart from real use."""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Iterator
from datetime import date

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone
from pytest_django import DjangoDbBlocker

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.demo.files import rows as demo_rows
from compliance.models import Run, ServedDish
from compliance.web.cautions import CAUTIONS
from menus.models import Site
from roster.models import Child, User
from tests.factories import SiteFactory

pytestmark = pytest.mark.django_db  # without it, a test of this module alone would be given the real database

FORBIDDEN = re.compile(r"\bsafe\b|allergy.free|ok to eat|\bcleared\b|guarantee", re.IGNORECASE)
COUNTED = (Child, ServedDish, Site, User)


def printed(**options: bool) -> str:
    """Run the demo once and return what it printed."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        call_command("demo", once=True, **options)
    return out.getvalue()


def test_refuses_the_database_of_a_real_school() -> None:
    """Invented children must not stand beside real ones."""
    SiteFactory(name="A real school")
    with pytest.raises(CommandError, match="already holds a real school"):
        printed()


def test_serve_refuses_the_database_of_the_demo() -> None:
    """Its passwords are known to everybody."""
    SiteFactory(code=demo_rows("sites.csv")[0]["code"])
    with pytest.raises(CommandError, match="whose passwords everybody knows"):
        call_command("serve", port=0)


@pytest.fixture(scope="module")
def said(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[str]:
    """What the demo prints the first time; the school is there for the module, and then taken back."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield printed()
        transaction.set_rollback(True)


def found() -> list[ExceptionRow]:
    """Return every exception of the demo from today on."""
    return find_exceptions(None, ExceptionFilter(first=timezone.localdate(), last=date.max))


def test_prints_exceptions_cautions_and_sign_ins(said: str) -> None:
    """Who, what and why for the first days, the rest as a number, and how to sign in."""
    flat = " ".join(said.split())
    rows = found()
    days = sorted({row.date for row in rows})
    assert len(days) > 2
    assert f"{days[1]:%A %Y-%m-%d}, " in flat
    assert f"{days[2]:%A %Y-%m-%d}, " not in flat
    later = sum(row.date > days[1] for row in rows)
    assert f"{later} more on {len(days) - 2} later days, to {days[-1]}." in flat
    assert CAUTIONS["demo"] in flat
    assert CAUTIONS["none-found"] in flat
    assert all(user.username in said for user in User.objects.all())
    assert not FORBIDDEN.search(said)
    assert max(map(len, said.splitlines())) <= 118


def test_again_it_adds_nothing_and_prints_every_day_when_asked(said: str) -> None:
    """The same school and the same findings; every child who meets anything is named."""
    before = [model.objects.count() for model in COUNTED]

    again = printed(show_all=True)

    rows = found()
    assert all(f"{row.date:%A %Y-%m-%d}, {row.site}" in again for row in rows)
    assert all(row.child.family_name.split()[0] in again for row in rows)
    assert "later days" not in again
    tables = said[: said.index(" more on ")].rsplit("\n", 1)[0]
    assert again.startswith(tables.rstrip())
    assert [model.objects.count() for model in COUNTED] == before
    assert {run.state for run in Run.objects.all()} == {Run.State.COMPLETE}
