"""A cook looks for a better order of work on a tablet, takes it over, and puts it back, in a real browser."""

from __future__ import annotations

from datetime import time, timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from menus.models import PlanStep, Surface
from tests.browser.fits import fits
from tests.browser.test_access import faults, window
from tests.cast import assemble
from tests.chromium import Live
from tests.factories import PlanStepFactory, ServingFactory, SurfaceFactory

__all__ = ["window"]

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def sign_in(live: Live) -> str:
    """Sign Greta in, with a lunch tomorrow that a better order mends, and return the address of the search."""
    cast, tomorrow = assemble(), timezone.localdate() + timedelta(days=1)
    board = SurfaceFactory(site=cast.ferrowick, name="Board", kind=Surface.Kind.BOARD)
    for recipe, at in ((cast.dishes.peanut_sandwich, time(9, 0)), (cast.dishes.ham_and_rice, time(9, 30))):
        ServingFactory(site=cast.ferrowick, recipe=recipe, date=tomorrow)
        PlanStepFactory(surface=board, recipe=recipe, at=at)
    live.sign_in(cast.greta)
    return f"/kitchen/order/?day={tomorrow.isoformat()}&meal=lunch&look=1"


def standing() -> list[str]:
    """The dishes of the plan in their order."""
    rows = PlanStep.objects.filter(withdrawn_at=None).order_by("at").select_related("recipe")
    return [row.recipe.name for row in rows if row.recipe]


def test_a_better_order_is_found_taken_over_and_put_back(live: Live) -> None:
    """From the search to the plan and back, by buttons alone."""
    page = live.page
    page.goto(sign_in(live))
    expect(page.get_by_role("heading", name="A better order")).to_be_visible()
    page.get_by_role("link", name="Take this order over").click()
    page.get_by_role("button", name="Take it over").click()
    expect(page.get_by_role("heading", name="Take over this order")).to_be_visible()  # the box is not ticked yet
    page.get_by_label("I have looked at raw food").check()
    page.get_by_role("button", name="Take it over").click()
    expect(page.get_by_text("is changed from now on")).to_be_visible()
    assert standing() == ["Ham and rice", "Peanut butter sandwich"]
    page.get_by_text("Put back the order before it").click()
    page.get_by_role("button", name="Put it back").click()
    expect(page.get_by_text("is the plan again")).to_be_visible()
    assert standing() == ["Peanut butter sandwich", "Ham and rice"]


@pytest.mark.parametrize("width", [320, 390, 820, 1280])
def test_both_orders_fit_the_screen_and_the_finger(live: Live, width: int) -> None:
    """Side by side on a tablet, one below the other on a phone."""
    address = sign_in(live)
    fits(live.page, address, width)
    now, then = (live.page.locator(f"section:has(> #{name})").bounding_box() for name in ("now", "then"))
    assert now and then
    assert (now["y"] == then["y"]) is (width >= 820)
    live.page.get_by_role("link", name="Take this order over").click()
    fits(live.page, live.page.url, width)


def test_a_search_and_its_question_hold_to_the_guidelines(window: Live) -> None:
    """The page after a search, which the walk of all pages does not reach."""
    window.page.goto(sign_in(window))
    assert not faults(window.page)
    window.page.get_by_role("link", name="Take this order over").click()
    assert not faults(window.page)
