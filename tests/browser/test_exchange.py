"""A dietitian takes a dish that was tried out over into the plan, in a real browser; the page holds on every screen."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from menus.models import Serving
from tests.browser.fits import fits
from tests.browser.test_access import faults, window
from tests.browser.test_meals import a_week, try_it
from tests.chromium import Live
from tests.web.meals_weeks import next_monday

__all__ = ["window"]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_from_the_trial_to_the_plan(live: Live, monkeypatch: pytest.MonkeyPatch) -> None:
    """The page asks, the box is to be ticked, and the week then shows the dish without a trial."""
    cast, address = a_week(monkeypatch)
    live.sign_in(cast.hakim)
    live.page.goto(address)
    try_it(live)
    live.page.get_by_role("link", name="Take it over into the plan").click()
    expect(live.page.get_by_role("heading", name="Serve Bean chili in place of Garden salad?")).to_be_visible()
    live.page.get_by_label("I have looked at whom this dish concerns.").check()
    live.page.get_by_role("button", name="Put it on the plan").click()
    expect(live.page.get_by_text("Bean chili is on the plan in place of Garden salad, Monday.")).to_be_visible()
    expect(live.page.get_by_role("heading", name="A trial: nothing is saved")).to_have_count(0)
    planned = Serving.objects.planned().filter(date=next_monday()).values_list("recipe__name", flat=True)
    assert "Bean chili" in planned and "Garden salad" not in planned


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_it_fits_the_screen_and_the_finger(window: Live, monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    """And holds to the guidelines on accessibility, as does the page that refuses."""
    cast, address = a_week(monkeypatch)
    window.sign_in(cast.hakim)
    window.page.goto(address)
    try_it(window)
    there = window.page.get_by_role("link", name="Take it over into the plan").get_attribute("href")
    assert there
    fits(window.page, there, width)
    assert faults(window.page) == []
    Serving.objects.filter(recipe__name="Garden salad").update(withdrawn_at="2026-11-29T10:00Z")
    fits(window.page, there, width)
    expect(window.page.get_by_text("Nothing was changed.")).to_be_visible()
    assert faults(window.page) == []
