"""Who may read the figures: whoever sends the token, and nobody where there is none."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from compliance.config.checks import check_settings
from tests.cast import Cast

pytestmark = pytest.mark.django_db
TOKEN = "a token of some length"


@pytest.fixture
def token(settings: Any) -> str:
    settings.METRICS_TOKEN = TOKEN
    return TOKEN


def ask(client: Client, given: str | None, **headers: str) -> Any:
    return client.get("/metrics", headers=headers | ({"Authorization": given} if given is not None else {}))


@pytest.mark.parametrize("given", [None, "", "Bearer ", "Bearer", "Bearer None"])
def test_without_a_token_there_are_no_figures(cast: Cast, given: str | None) -> None:
    """Not even for an administrator, or from the machine itself: behind a proxy everybody seems to come from there."""
    assert ask(Client(), given).status_code == 404
    june = Client()
    june.force_login(cast.june)
    assert ask(june, given).status_code == 404


@pytest.mark.parametrize("given", [None, "", "Bearer ", f"Bearer {TOKEN}x", f"Basic {TOKEN}", TOKEN, "Bearer tökén"])
def test_without_the_token_one_is_refused(token: str, given: str | None) -> None:
    """As RFC 6750 says."""
    answer = ask(Client(), given)
    assert answer.status_code == 401 and answer.headers["WWW-Authenticate"].startswith("Bearer")
    assert b"menu_compliance" not in answer.content


def test_with_the_token_come_the_figures(token: str) -> None:
    """In the text format of Prometheus; kept by nobody on the way."""
    answer = ask(Client(), f"Bearer {token}")
    assert answer.status_code == 200
    assert answer.headers["Content-Type"].startswith("text/plain; version=")
    assert "no-store" in answer.headers["Cache-Control"]
    assert b"\nmenu_compliance_sites 0.0\n" in answer.content


def test_who_asks_for_openmetrics_gets_it(token: str) -> None:
    answer = ask(Client(), f"Bearer {token}", Accept="application/openmetrics-text; version=1.0.0")
    assert answer.headers["Content-Type"].startswith("application/openmetrics-text")
    assert answer.content.endswith(b"# EOF\n")


@pytest.mark.parametrize(("token", "wrong"), [("", []), ("x" * 16, []), ("x" * 15, ["compliance.E006"])])
def test_a_short_token_is_refused_at_the_start(settings: Any, token: str, wrong: list[str]) -> None:
    """One could guess it; it is not repeated in what is said."""
    settings.METRICS_TOKEN = token
    found = check_settings()
    assert [each.id for each in found if each.id == "compliance.E006"] == wrong
    assert not any("xxx" in each.msg for each in found)
