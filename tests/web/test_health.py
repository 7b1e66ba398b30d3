"""The addresses that probes ask: open to strangers, and empty of data."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import DatabaseError, connection
from django.test import Client

from compliance.operations import readiness
from compliance.operations.readiness import Readiness, State
from compliance.web import health
from tests.cast import Cast


@pytest.fixture(autouse=True)
def _nothing_kept() -> Iterator[None]:
    """An answer stands for some seconds; a test wants its own, and leaves none behind."""
    health._found.cache_clear()
    yield
    health._found.cache_clear()


@pytest.mark.django_db
def test_answers_a_stranger(client: Client) -> None:
    """No sign-in, and nothing but a word."""
    response = client.get("/healthz")
    assert (response.status_code, response.content) == (200, b"ok\n")


def test_it_is_alive_without_a_database(client: Client) -> None:
    """Started anew it would be without one as well: this test may not use the database, and fails if it is asked."""
    assert client.get("/healthz").status_code == 200


@pytest.mark.django_db
def test_it_is_not_fit_without_a_database(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """A service that cannot read its records is sent no requests; nothing of the failure is told."""

    def away() -> None:
        raise DatabaseError("password authentication failed for user menus")

    monkeypatch.setattr(connection, "cursor", away)
    response = client.get("/readyz")
    assert response.status_code == 503
    assert response.json() == {"state": "not ready", "looked_at": {"database": "does not answer"}}


@pytest.mark.django_db
def test_late_checks_take_no_page_away(cast: Cast, client: Client) -> None:
    """They are told by number, and no site by name."""
    response = client.get("/readyz")
    assert response.status_code == 200 and response.json()["state"] == "degraded"
    assert "too old: 2" in response.json()["looked_at"]["checks"]
    assert "Ferrowick" not in response.content.decode()


@pytest.mark.django_db
def test_an_answer_stands_for_some_seconds(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """Strangers who ask without end cost the database nothing."""
    asked: list[int] = []

    def look() -> Readiness:
        asked.append(1)
        return Readiness(State.READY, {"database": readiness.FINE})

    clock = iter([100.0, 104.9, 105.0])
    monkeypatch.setattr(health, "monotonic", lambda: next(clock))
    monkeypatch.setattr(health, "readiness", look)
    told = [client.get("/readyz").json() for _ in range(3)]
    assert len(asked) == 2 and told[0] == {"state": "ready", "looked_at": {"database": "ok"}}


@pytest.mark.django_db
def test_answers_without_https_where_pages_want_it(client: Client, settings) -> None:
    """Probes ask from inside, behind the proxy that speaks HTTPS."""
    settings.SECURE_SSL_REDIRECT = True
    assert client.get("/healthz").status_code == 200
    assert client.get("/readyz").status_code == 200
    assert client.get("/sign-in/").status_code == 301
