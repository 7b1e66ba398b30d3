"""How often one person may ask: treat checks, searches and the API, and what they are told beyond that."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.urls import reverse
from rest_framework.test import APIClient
from rest_framework.throttling import SimpleRateThrottle

from compliance.config import env
from compliance.config.cache import SharedCounts
from compliance.models import TreatCheck
from tests.cast import Cast
from tests.web.pages import as_user, soup, words


@pytest.fixture(autouse=True)
def _few(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two of each a minute."""
    for scope in ("treat", "search"):
        monkeypatch.setitem(SimpleRateThrottle.THROTTLE_RATES, scope, "2/min")


def asked(cast: Cast) -> dict[str, Any]:
    """A treat without a label."""
    return {"class": cast.larks.pk, "when": "now", "no_label": "on", "name": "Cupcakes"}


def test_a_treat_check_too_many_is_not_made_and_the_page_says_so(cast: Cast) -> None:
    """In the words that matter: not checked, do not serve; and when to try again."""
    rosa = as_user(cast.rosa)
    assert [rosa.post(reverse("treat"), asked(cast)).status_code for _ in range(2)] == [302, 302]
    page = rosa.post(reverse("treat"), asked(cast))
    assert page.status_code == 429 and 0 < int(page.headers["Retry-After"]) <= 60
    told = words(page)
    assert "Not checked: do not serve meanwhile" in told and "Try again in" in told
    assert TreatCheck.objects.count() == 2
    assert soup(page).select(".emergency"), "the way to a suspected reaction is still there"


def test_looking_is_not_counted_and_others_are_not_held_up(cast: Cast) -> None:
    """Whoever asked too often still reads the answers, and a colleague checks."""
    rosa = as_user(cast.rosa)
    for _ in range(3):
        rosa.post(reverse("treat"), asked(cast))
    assert rosa.get(reverse("treat")).status_code == 200
    assert rosa.get(reverse("treat-result", args=[TreatCheck.objects.latest("pk").pk])).status_code == 200
    assert as_user(cast.hakim).post(reverse("treat"), asked(cast)).status_code == 302


def test_page_and_api_share_one_count(cast: Cast) -> None:
    """Two ways in are one person."""
    rosa, api = as_user(cast.rosa), APIClient()
    api.force_login(cast.rosa)
    for _ in range(2):
        rosa.post(reverse("treat"), asked(cast))
    answer = api.post(reverse("api-treat-checks"), {}, format="json")
    assert answer.status_code == 429
    assert "do not serve meanwhile" in answer.json()["detail"]
    assert api.get(reverse("api-treat-checks")).status_code == 200


@pytest.mark.parametrize(("who", "page"), [("rosa", "treat-matches"), ("greta", "products"), ("ursula", "record")])
def test_searches(cast: Cast, who: str, page: str) -> None:
    """Each search page counts; nothing is said of a food."""
    client = as_user(getattr(cast, who))
    assert [client.get(reverse(page)).status_code for _ in range(3)] == [200, 200, 429]
    assert "do not serve" not in words(client.get(reverse(page)))


@pytest.mark.parametrize("value", ["30", "0/min", "30/week", "many/min"])
def test_a_rate_that_is_none_stops_the_start(monkeypatch: pytest.MonkeyPatch, value: str) -> None:
    """By name, with how to write it."""
    monkeypatch.setenv("RATE_TREAT", value)
    with pytest.raises(ImproperlyConfigured, match=r"RATE_TREAT is .* such as 30/min"):
        env.rate("RATE_TREAT", "30/min")


def test_a_rate_that_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taken as it is; left out, the default."""
    assert env.rate("RATE_TREAT", "30/min") == "30/min"
    monkeypatch.setenv("RATE_TREAT", "5/hour")
    assert env.rate("RATE_TREAT", "30/min") == "5/hour"


def test_a_cache_that_is_away_keeps_nobody_from_a_check(caplog: pytest.LogCaptureFixture) -> None:
    """It forgets, says so in the log, and never fails."""
    counts = SharedCounts("redis://127.0.0.1:1/0", {"OPTIONS": {"socket_connect_timeout": 1}})
    assert counts.get("a", 3) == 3
    counts.set("a", 1)
    assert counts.add("a", 1) and counts.incr("a") == 1 and counts.touch("a") and not counts.delete("a")
    assert "cannot be reached" in caplog.text
