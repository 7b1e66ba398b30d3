"""The address that probes ask: open to strangers, and empty of data."""

from __future__ import annotations

import pytest
from django.db import DatabaseError, connection
from django.test import Client


@pytest.mark.django_db
def test_answers_a_stranger(client: Client) -> None:
    """No sign-in, and nothing but a word."""
    response = client.get("/healthz")
    assert (response.status_code, response.content) == (200, b"ok\n")


@pytest.mark.django_db
def test_says_when_the_database_is_away(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """A service that cannot read its records is not well."""

    def away() -> None:
        raise DatabaseError("away")

    monkeypatch.setattr(connection, "cursor", away)
    response = client.get("/healthz")
    assert (response.status_code, response.content) == (503, b"no database\n")


@pytest.mark.django_db
def test_answers_without_https_where_pages_want_it(client: Client, settings) -> None:
    """Probes ask from inside, behind the proxy that speaks HTTPS."""
    settings.SECURE_SSL_REDIRECT = True
    assert client.get("/healthz").status_code == 200
    assert client.get("/sign-in/").status_code == 301
