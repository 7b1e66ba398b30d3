"""A cook with wet hands and a tablet: two taps for a record, and a connection that is gone for a while."""

from __future__ import annotations

from datetime import time

import pytest
from playwright.sync_api import APIResponse, Browser, Route, ViewportSize, expect

from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Deed, KitchenEvent, Serving, Surface
from tests.browser.fits import fits
from tests.browser.thumb import Thumb
from tests.cast import Cast, assemble
from tests.chromium import Live
from tests.clock import noon_at
from tests.factories import PlanStepFactory, SurfaceFactory, labelled

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

TABLET: ViewportSize = {"width": 820, "height": 1180}


@pytest.fixture
def cast(live: Live) -> Cast:
    """The cast, with Greta at the day of her kitchen: two dishes on a slicer, and chips in a fryer."""
    made = assemble()
    slicer = SurfaceFactory.create(site=noon_at(made.ferrowick), name="Slicer")
    PlanStepFactory.create(surface=slicer, at=time(10), recipe=made.dishes.peanut_sandwich)
    PlanStepFactory.create(surface=slicer, at=time(10, 30), cleaning=True)
    PlanStepFactory.create(surface=slicer, at=time(11), recipe=made.dishes.ham_and_rice)
    fryer = SurfaceFactory.create(site=made.ferrowick, name="Fryer", kind="fryer", material="fryer_oil")
    PlanStepFactory.create(surface=fryer, at=time(11, 10), recipe=made.dishes.oat_bar)
    check_site(site=made.ferrowick, trigger=Run.Trigger.HAND)
    live.sign_in(made.greta)
    live.page.set_viewport_size(TABLET)
    live.page.goto("/kitchen/day/")
    return made


def touch(live: Live, thumb: Thumb, bar: str) -> None:
    """Touch a bar of the picture."""
    thumb.taps += 1
    live.page.locator(".bar", has_text=bar).first.click()


def press(live: Live, thumb: Thumb, words: str) -> None:
    """Touch the button beside what the bar led to."""
    thumb.taps += 1
    live.page.locator(":target").get_by_role("button", name=words).click()
    expect(live.page.get_by_role("status").filter(has_text="Recorded")).to_be_visible()


def test_cleaned_is_two_taps(live: Live, cast: Cast) -> None:
    """The box of the wash that nobody recorded, and that it was done as planned."""
    thumb = Thumb(live)
    touch(live, thumb, "no record")
    press(live, thumb, "Done at 10:30")
    assert thumb.taps == 2
    assert KitchenEvent.objects.get().kind == Deed.CLEAN


def test_the_oil_is_changed_in_one(live: Live, cast: Cast) -> None:
    """The large button of the fryer."""
    live.page.get_by_role("button", name="Oil changed now").click()
    expect(live.page.get_by_role("status").filter(has_text="Recorded: Cleaned, Fryer")).to_be_visible()
    assert KitchenEvent.objects.get().method == "oil_change_and_vat_wash"


def test_another_order_is_two_taps(live: Live, cast: Cast) -> None:
    """The ham was sliced only now."""
    thumb = Thumb(live)
    touch(live, thumb, "Ham and rice")
    press(live, thumb, "Used now")
    assert thumb.taps == 2
    event = KitchenEvent.objects.get()
    assert (event.kind, event.serving) == (Deed.USE, Serving.objects.get(recipe=cast.dishes.ham_and_rice))


def test_a_product_is_swapped_in_two_taps(live: Live, cast: Cast) -> None:
    """To the dish, and the product that one reaches for."""
    labelled("brown rice", name="Rice, brown")
    row = live.page.locator("#dishes ~ ul li", has_text="Ham and rice")
    row.get_by_role("link", name="Product swapped, or leftovers").click()
    live.page.get_by_role("button", name="Rice, brown").click()
    expect(live.page.get_by_role("status").filter(has_text="Rice, brown in place of Rice")).to_be_visible()
    assert KitchenEvent.objects.get().kind == Deed.SWAP


def test_a_slip_is_taken_back_by_one_tap(live: Live, cast: Cast) -> None:
    """While its minute lasts."""
    touch(live, Thumb(live), "no record")
    press(live, Thumb(live), "Done at 10:30")
    live.page.get_by_role("button", name="Take it back").click()
    expect(live.page.get_by_role("status").filter(has_text="Taken back")).to_be_visible()
    expect(live.page.locator(".bar", has_text="no record")).to_be_visible()


def test_a_lost_connection_says_so_keeps_the_record_and_sends_it_again(live: Live, cast: Cast) -> None:
    """The tablet is out of reach, is loaded again meanwhile, and comes back: one record, as of the tap."""
    page = live.page
    live.context.set_offline(True)
    page.get_by_role("button", name="Oil changed now").click()
    expect(page.get_by_role("alert")).to_contain_text("Not saved yet: no connection to the service.")
    expect(page.get_by_role("alert")).to_contain_text("Oil changed now: Fryer")
    assert not KitchenEvent.objects.exists()
    live.context.set_offline(False)
    expect(page.get_by_role("status").filter(has_text="Recorded: Cleaned, Fryer")).to_be_visible()
    expect(page.get_by_role("alert")).to_be_hidden()
    assert KitchenEvent.objects.count() == 1
    live.complaints.clear()  # the browser's own words about the lost connection


def test_what_was_kept_outlasts_the_page(live: Live, cast: Cast) -> None:
    """The record is on the tablet, not on the page: it is sent when the page is opened again."""
    page = live.page
    live.context.set_offline(True)
    page.get_by_role("button", name="Oil changed now").click()
    expect(page.get_by_role("alert")).to_be_visible()
    live.context.set_offline(False)
    page.goto("/kitchen/day/")
    expect(page.get_by_role("status").filter(has_text="Recorded: Cleaned, Fryer")).to_be_visible()
    assert KitchenEvent.objects.count() == 1
    live.complaints.clear()


def test_an_answer_that_was_lost_makes_no_second_record(live: Live, cast: Cast) -> None:
    """The service kept it, and the tablet does not know."""
    page = live.page
    lost: list[APIResponse] = []

    def lose(route: Route) -> None:
        if lost:
            route.continue_()
        else:
            lost.append(route.fetch())
            route.abort()

    page.route("**/kitchen/day/record/**", lose)
    page.get_by_role("button", name="Oil changed now").click()
    expect(page.get_by_role("alert")).to_contain_text("Not saved yet")
    expect(page.get_by_role("status").filter(has_text="Recorded: Cleaned, Fryer")).to_be_visible()
    assert KitchenEvent.objects.count() == 1
    live.complaints.clear()


def test_the_day_works_without_scripts(chromium: Browser, live: Live, cast: Cast) -> None:
    """Post, and the page again."""
    plain = Live(chromium, live.url, scripts=False)
    plain.sign_in(cast.greta)
    plain.page.goto("/kitchen/day/")
    plain.page.get_by_role("button", name="Oil changed now").click()
    expect(plain.page.get_by_text("Recorded: Cleaned, Fryer")).to_be_visible()
    assert KitchenEvent.objects.get().surface == Surface.objects.get(name="Fryer")
    plain.close()


def test_an_arrow_opens_what_is_folded_away(live: Live, cast: Cast) -> None:
    """What concerns nobody is folded; its arrow leads to it all the same."""
    live.page.locator(".arrow").first.click()
    expect(live.page.locator(":target")).to_be_visible()


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_the_kitchen_s_day_fits_the_screen_and_the_finger(live: Live, cast: Cast, width: int) -> None:
    """The picture scrolls by itself; the page does not."""
    serving = Serving.objects.get(recipe=cast.dishes.ham_and_rice)
    for address in ("/kitchen/day/", f"/kitchen/dishes/{serving.pk}/"):
        fits(live.page, address, width)
