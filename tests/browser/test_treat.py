"""A teacher with a tray of cupcakes, in a real browser, taps counted (docs/design/first-look.md)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from compliance.models import TreatCheck
from tests.browser.bars import camera
from tests.browser.fits import fits
from tests.browser.thumb import Thumb, on_record
from tests.cast import Cast, assemble
from tests.chromium import ARGUMENTS, Live, executable
from tests.factories import gtin, labelled

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

CUPCAKES = """INGREDIENTS: SUGAR, ENRICHED WHEAT FLOUR, EGGS, SOYBEAN OIL, CONTAINS 2% OR LESS OF: WHEY, SALT.
CONTAINS: WHEAT, EGG, MILK, SOY.
MAY CONTAIN TREE NUTS."""


@pytest.fixture
def world(live: Live) -> Iterator[tuple[Cast, Thumb]]:
    """The cast, with Rosa on her first page, holding a phone."""
    cast = assemble()
    live.sign_in(cast.rosa)
    live.page.goto("/")
    # “Check a treat” stands in the menu and as a button; either will do.
    yield cast, Thumb(live)


def shows_an_answer(live: Live) -> None:
    expect(live.page).to_have_url(re.compile(r"/treat/\d+/$"))


def test_a_pasted_label(live: Live, world: tuple[Cast, Thumb]) -> None:
    """The children and the marked words are there after one paste."""
    _, thumb = world
    thumb.tap("Check a treat")
    thumb.fill("What the package says", CUPCAKES)
    thumb.tap("Check this label")
    shows_an_answer(live)
    assert thumb.taps == on_record("label pasted")
    expect(live.page.locator(".block-withhold .who")).to_have_text(["Anneke E.", "Ifeoma E.", "Kofi E.", "Noor E."])
    expect(live.page.locator(".mark-withhold").first).to_have_text("ENRICHED WHEAT FLOUR")


def test_no_label(live: Live, world: tuple[Cast, Thumb]) -> None:
    """Two taps."""
    _, thumb = world
    thumb.tap("Check a treat")
    thumb.tap("It has no label")
    shows_an_answer(live)
    assert thumb.taps == on_record("no label")
    expect(live.page.locator(".block-refer .who")).to_have_count(7)


def test_a_number_typed(live: Live, world: tuple[Cast, Thumb]) -> None:
    """As the package prints it."""
    _, thumb = world
    bar = labelled("oats, milk", name="Oat crunch", gtin=gtin(7))
    thumb.tap("Check a treat")
    thumb.fill("Number under the bars", bar.gtin[1:])
    thumb.tap("Check this number")
    shows_an_answer(live)
    assert thumb.taps == on_record("number typed")


def test_a_name_seen_before_is_found_while_typing(live: Live, world: tuple[Cast, Thumb]) -> None:
    """The match is a button that sends."""
    _, thumb = world
    thumb.tap("Check a treat")
    thumb.fill("Name of a food seen before", "oat")
    thumb.taps += 1
    live.page.locator("#matches").get_by_role("button", name="Oat bar").click()
    shows_an_answer(live)
    assert thumb.taps == on_record("seen before, by name")


def test_a_food_checked_lately(live: Live, world: tuple[Cast, Thumb]) -> None:
    """It waits at the top of the page."""
    _, thumb = world
    labelled("sugar", name="Sugar mice")
    live.page.goto("/treat/")
    live.page.get_by_label("Name of a food seen before").fill("mice")
    live.page.locator("#matches").get_by_role("button", name="Sugar mice").click()
    shows_an_answer(live)
    live.page.goto("/")
    thumb.tap("Check a treat")
    thumb.tap("Sugar mice")
    shows_an_answer(live)
    assert thumb.taps == on_record("checked lately for this class")


def test_a_number_not_on_record(live: Live, world: tuple[Cast, Thumb]) -> None:
    """The cursor stands where the label goes, so pasting needs no touch before it."""
    _, thumb = world
    thumb.tap("Check a treat")
    thumb.fill("Number under the bars", gtin(99)[1:])
    thumb.tap("Check this number")
    expect(live.page.get_by_label("What the package says")).to_be_focused()
    thumb.taps += 1
    live.page.keyboard.insert_text(CUPCAKES)
    thumb.tap("Check this label")
    shows_an_answer(live)
    assert thumb.taps == on_record("number not on record")


def test_the_page_works_without_scripts(chromium: Browser, live: Live, world: tuple[Cast, Thumb]) -> None:
    """Find, choose, answer: three pages, no script."""
    cast, _ = world
    plain = Live(chromium, live.url, scripts=False)
    plain.sign_in(cast.rosa)
    plain.page.goto("/treat/")
    expect(plain.page.get_by_role("button", name="Scan the bars")).to_be_hidden()
    plain.page.get_by_label("Name of a food seen before").fill("oat")
    plain.page.get_by_role("button", name="Find").click()
    plain.page.locator("#matches").get_by_role("button", name="Oat bar").click()
    shows_an_answer(plain)
    plain.close()


def test_scanning_with_a_camera(chromium: Browser, live: Live, world: tuple[Cast, Thumb], tmp_path: Path) -> None:
    """The bars before the camera are read and sent by themselves."""
    cast, _ = world
    bar = labelled("oats, milk", name="Oat crunch", gtin=gtin(7))
    with chromium.browser_type.launch(
        executable_path=executable(), args=[*ARGUMENTS, *camera(bar.gtin[1:], tmp_path)]
    ) as browser:
        phone = Live(browser, live.url)
        phone.sign_in(cast.rosa)
        phone.page.goto("/")
        thumb = Thumb(phone)
        thumb.tap("Check a treat")
        thumb.tap("Scan the bars")
        expect(phone.page).to_have_url(re.compile(r"/treat/\d+/$"))
        assert thumb.taps == on_record("scanned")
        phone.close()
    check = TreatCheck.objects.get()
    assert (check.source, check.label.product) == ("gtin", bar)


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_is_cut_off_and_every_target_is_large_enough(live: Live, world: tuple[Cast, Thumb], width: int) -> None:
    """No sideways scrolling at any width; nothing to touch is lower than 44 px (WCAG 2.2, 1.4.10 and 2.5.5)."""
    for address in ("/today/", "/treat/", "/emergency/"):
        fits(live.page, address, width)
