"""A label photographed with a phone, in a real browser and with the real reader."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from menus.models import LabelPhoto, PhotoDraft
from tests.browser.fits import fits
from tests.browser.test_access import faults
from tests.browser.thumb import Thumb, on_record
from tests.cast import Cast, assemble
from tests.chromium import Live
from tests.pictures import WAFERS, label

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PATIENCE = 60_000


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    """What the camera took."""
    path = tmp_path / "label.jpg"
    label(*WAFERS).save(path)
    return path


@pytest.fixture
def cast(live: Live) -> Cast:
    """The cast; Rosa holds the phone."""
    made = assemble()
    live.sign_in(made.rosa)
    return made


def take(page: Page, photo: Path) -> None:
    """Take the photo and wait until it stands beside its words."""
    page.get_by_label("Photo of the label").set_input_files(photo)
    expect(page.get_by_role("heading", name="Compare the words with the photo")).to_be_focused(timeout=PATIENCE)


def test_from_photo_to_answer(live: Live, cast: Cast, photo: Path) -> None:
    """The words come by themselves, are compared, and answer; taps as the first look promises."""
    page, thumb = live.page, Thumb(live)
    page.goto("/")
    thumb.tap("Check a treat")
    take(page, photo)
    thumb.taps += 3  # the field, the shutter, “use it”
    expect(page.get_by_label("What the package says")).to_have_value(re.compile("HAZELNUTS"))
    expect(page.get_by_alt_text("Photo 1 of the label")).to_have_js_property("complete", True)
    assert page.get_by_alt_text("Photo 1 of the label").evaluate("image => image.naturalWidth") > 0
    page.get_by_label("I compared these words with the photo").check()
    thumb.taps += 1
    thumb.tap("Check this label")
    expect(page).to_have_url(re.compile(r"/treat/\d+/$"))
    assert thumb.taps == on_record("label photographed")
    expect(page.get_by_text("the words of a photo, compared with it by Rosa")).to_be_visible()
    assert LabelPhoto.objects.count() == 1


def test_taken_before_the_scripts_were_there(live: Live, cast: Cast, photo: Path) -> None:
    """On a slow line the photo is chosen first; the page sends it as soon as it can."""
    page = live.page
    held: list[Route] = []
    page.route("**/htmx.min.js", lambda route: held.append(route))
    page.goto("/treat/", wait_until="commit")
    page.get_by_label("Photo of the label").set_input_files(photo)
    assert held  # the script is still on its way
    held[0].continue_()
    expect(page.get_by_role("heading", name="Compare the words with the photo")).to_be_focused(timeout=PATIENCE)
    assert PhotoDraft.objects.count() == 1


def test_signed_out_meanwhile(live: Live, cast: Cast, photo: Path) -> None:
    """The page to sign in does not take the place of what was typed."""
    page = live.page
    page.goto("/treat/")
    page.get_by_label("What the package says").fill("Oats.")
    live.context.clear_cookies()
    page.get_by_label("Photo of the label").set_input_files(photo)
    expect(page.get_by_text("you were signed out meanwhile")).to_be_visible()
    expect(page.get_by_label("What the package says")).to_have_value("Oats.")
    live.complaints.clear()  # the browser's own, about a refused request


def test_a_photo_that_does_not_get_through_costs_nothing_that_was_typed(live: Live, cast: Cast, photo: Path) -> None:
    """It says so; the words stay; the same photo may be chosen again."""
    page = live.page
    page.goto("/treat/")
    page.get_by_label("What the package says").fill("Oats.")
    page.route("**/treat/", lambda route: route.abort())
    page.get_by_label("Photo of the label").set_input_files(photo)
    expect(page.get_by_text("The photo did not get through")).to_be_visible()
    expect(page.get_by_label("What the package says")).to_have_value("Oats.")
    expect(page.get_by_label("What the package says")).to_be_enabled()
    live.complaints.clear()  # the browser's own, about the line that we cut
    page.unroute("**/treat/")
    take(page, photo)
    expect(page.get_by_label("What the package says")).to_have_value(re.compile(r"^Oats\.\nINGREDIENTS"))


def test_without_scripts(chromium: Browser, live: Live, cast: Cast, photo: Path) -> None:
    """The button beside the field sends the photo."""
    plain = Live(chromium, live.url, scripts=False)
    plain.sign_in(cast.rosa)
    plain.context.set_default_timeout(PATIENCE)
    plain.page.goto("/treat/")
    plain.page.get_by_label("Photo of the label").set_input_files(photo)
    plain.page.get_by_role("button", name="Use this photo").click()
    expect(plain.page.get_by_label("What the package says")).to_have_value(re.compile("HAZELNUTS"), timeout=PATIENCE)
    plain.close()
    live.page.goto("/treat/")
    expect(live.page.get_by_role("button", name="Use this photo")).to_be_hidden()


@pytest.fixture
def beside(live: Live, cast: Cast, photo: Path) -> Iterator[str]:
    """The address of a page that shows a photo beside its words."""
    live.sign_in(cast.greta)
    address = f"/products/{cast.larder.bread.pk}/label/"
    live.page.goto(address)
    take(live.page, photo)
    assert PhotoDraft.objects.count() == 1
    yield address


def test_it_fits_and_holds_to_the_guidelines(chromium: Browser, live: Live, cast: Cast, beside: str) -> None:
    """At every width; photo and words side by side on a desk; WCAG 2.2 AA as far as axe can tell."""
    for width in (320, 390, 1280):
        fits(live.page, beside, width)
    frame, words = live.page.locator(".frame").bounding_box(), live.page.locator("#id_ingredients").bounding_box()
    assert frame and words and words["x"] + words["width"] <= frame["x"]
    live.page.get_by_label("Larger").check()
    assert live.page.evaluate("document.documentElement.scrollWidth") <= 1280
    window = Live(chromium, live.url, any_script=True)
    window.sign_in(cast.greta)
    window.page.goto(beside)
    found = faults(window.page)
    window.context.close()
    assert not found
