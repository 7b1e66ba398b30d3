"""Refusals are problem details (RFC 9457), whatever the cause."""

from __future__ import annotations

from typing import Any

import pytest
from rest_framework.test import APIClient
from rest_framework.throttling import SimpleRateThrottle

from tests.api.conftest import ROOT, Asker
from tests.cast import Cast


def problem(answer: Any) -> str:
    """The code of the one error, once the answer has been seen to be a whole problem."""
    body = answer.json()
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert body["status"] == answer.status_code and body["type"] == "about:blank" and body["title"]
    [error] = body["errors"]
    assert error["detail"] == body["detail"] and body["detail"].endswith((".", "seconds."))
    return str(error["code"])


@pytest.mark.django_db
def test_a_stranger_is_told_to_sign_in() -> None:
    """No session, no answer."""
    assert problem(Asker().get("classrooms/")) == "not_authenticated"


def test_without_a_post_one_is_told_whom_to_ask(cast: Cast) -> None:
    """An account alone opens nothing."""
    assert problem(Asker(cast.wren).get("classrooms/")) == "permission_denied"


def test_what_the_address_does_not_take_is_refused(cast: Cast) -> None:
    """Another method, another format, an id that nothing has."""
    client = Asker(cast.june).client
    assert problem(client.delete(f"{ROOT}classrooms/")) == "method_not_allowed"
    assert problem(client.post(f"{ROOT}treat-checks/", "a=b", content_type="text/plain")) == "unsupported_media_type"
    assert problem(client.get(f"{ROOT}runs/{10**30}/")) == "not_found"
    assert problem(client.post(f"{ROOT}treat-checks/", "{", content_type="application/json")) == "parse_error"


def test_a_client_that_runs_wild_is_slowed(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the rate the answer is 429 and says when to come back; another person is not held up."""
    monkeypatch.setitem(SimpleRateThrottle.THROTTLE_RATES, "user", "2/min")
    asker = Asker(cast.june)
    assert [asker.get("classrooms/").status_code for _ in range(2)] == [200, 200]
    refused = asker.get("classrooms/")
    assert problem(refused) == "throttled" and int(refused.headers["Retry-After"]) > 0
    assert Asker(cast.hakim).get("classrooms/").status_code == 200


def test_a_closed_account_is_a_stranger(cast: Cast) -> None:
    """Closing an account ends its sessions at once."""
    asker = Asker(cast.rosa)
    cast.rosa.is_active = False
    cast.rosa.save()
    assert problem(asker.get("classrooms/")) == "not_authenticated"


def test_a_browser_that_asks_for_html_gets_json(cast: Cast) -> None:
    """There is no second, browsable door with rules of its own."""
    client = APIClient()
    client.force_login(cast.rosa)
    assert client.get(f"{ROOT}classrooms/", headers={"Accept": "text/html"}).status_code == 406


def test_an_address_that_is_not_there_is_a_problem_too(cast: Cast) -> None:
    """Also where the number is none that an address could hold, and to a stranger."""
    for client in (Asker(cast.june).client, Asker().client):
        for address in ("nowhere/", "classrooms/-3/children/"):
            answer = client.get(f"{ROOT}{address}")
            assert answer.status_code == 404 and problem(answer) == "not_found"
