"""A kitchen before service, and a cook with a new case of buns, in a real browser (docs/design/first-look.md)."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Product
from roster.imports.plan import KINDS
from tests.browser.bars import camera
from tests.browser.fits import fits
from tests.browser.thumb import Thumb, on_record
from tests.cast import Cast, assemble
from tests.chromium import ARGUMENTS, Live, executable
from tests.factories import gtin, labelled

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

BUNS = "Enriched wheat flour, water, sugar, yeast, soybean oil, salt. Contains: Wheat. May contain sesame."


@pytest.fixture
def cast(live: Live) -> Cast:
    """The cast, with Tomas on his first page."""
    made = assemble()
    live.sign_in(made.tomas)
    live.page.goto("/")
    return made


def test_the_cycle_is_checked_and_each_count_leads_to_the_words(live: Live, cast: Cast) -> None:
    """Check, read the counts, open a dish: the words are marked where they stand on the label."""
    page = live.page
    expect(page.get_by_text("was never checked")).to_be_visible()
    page.get_by_role("button", name="Check again now").click()
    dish = page.locator(".dishes li", has_text="Oat bar")
    expect(dish.locator(".outcome-withhold")).to_have_text("withhold 3")
    dish.get_by_role("link").click()
    expect(page.locator("mark.mark-withhold")).to_have_text(["rolled oats", "milk", "tree nuts"])
    page.get_by_text("Where this comes from").first.click()
    expect(page.get_by_text("rule R").first).to_be_visible()
    assert Run.objects.get().state == Run.State.COMPLETE


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_kitchens_pages_fit_the_screen_and_the_finger(live: Live, cast: Cast, width: int) -> None:
    """On a phone days stand below each other; nothing is pushed sideways, nothing is too small to touch."""
    check_site(site=cast.ferrowick, trigger="hand")
    serving, bread = cast.servings[0].pk, cast.larder.bread
    for address in (
        *("/cycle/", "/cycle/check/", f"/servings/{serving}/", "/labels/", f"/labels/{bread.labels.get().pk}/"),
        *("/products/", f"/products/{bread.pk}/", f"/products/{bread.pk}/label/", "/products/new/"),
        *("/imports/", "/imports/cycle/"),
    ):
        fits(live.page, address, width)


def test_days_of_a_week_stand_side_by_side_on_a_wide_screen_only(live: Live, cast: Cast) -> None:
    """A grid at a desk, a column in the hand."""
    page = live.page
    page.goto("/cycle/")
    day = page.locator(".week").nth(1).locator(".day")
    first, second = day.nth(0).bounding_box(), day.nth(1).bounding_box()
    assert first and second and second["y"] > first["y"]
    page.set_viewport_size({"width": 1280, "height": 900})
    first, second = day.nth(0).bounding_box(), day.nth(1).bounding_box()
    assert first and second and second["y"] == first["y"]


def test_a_new_case_of_buns(live: Live, cast: Cast) -> None:
    """Number, name, label: what was understood shows before anything is saved."""
    thumb = Thumb(live)
    thumb.tap("Products")
    expect(live.page.get_by_label("Find a product")).to_be_focused()
    thumb.type(gtin(9)[1:])
    thumb.tap("Find it")
    expect(live.page.get_by_label("Name of the product")).to_be_focused()
    thumb.type("Buns")
    thumb.fill("Type or paste the label", BUNS)
    expect(live.page.locator("#reading")).to_contain_text("Sesame: “sesame” (may contain)")
    assert thumb.taps == on_record("new product, number typed")
    assert not Product.objects.filter(name="Buns").exists()
    thumb.tap("Save the product")
    expect(live.page.get_by_role("heading", name="Buns")).to_be_visible()
    assert Product.objects.get(name="Buns").labels.get().ingredients == BUNS


def test_a_new_case_of_buns_scanned(chromium: Browser, live: Live, cast: Cast, tmp_path: Path) -> None:
    """The reading looks up by itself, and leads to the new product."""
    seen = camera(gtin(9)[1:], tmp_path)
    with chromium.browser_type.launch(executable_path=executable(), args=[*ARGUMENTS, *seen]) as browser:
        phone = Live(browser, live.url)
        phone.sign_in(cast.tomas)
        phone.page.goto("/")
        thumb = Thumb(phone)
        thumb.tap("Products")
        thumb.tap("Scan the bars")
        expect(phone.page.get_by_label("Number under the bars")).to_have_value(gtin(9))
        expect(phone.page.get_by_label("Name of the product")).to_be_focused()
        thumb.type("Buns")
        thumb.fill("Type or paste the label", BUNS)
        expect(phone.page.locator("#reading")).to_contain_text("Sesame")
        assert thumb.taps == on_record("new product, scanned")
        phone.close()


def crackers(cast: Cast) -> None:
    """Put a product into the oat bar whose label was read years ago."""
    old = labelled("rice", name="Crackers", label={"seen_on": date(2020, 1, 1)})
    cast.dishes.oat_bar.versions.get().lines.create(position=2, product=old, quantity=1, unit="kg")


def test_a_known_product_with_a_new_label(live: Live, cast: Cast) -> None:
    """From the list of labels to read."""
    crackers(cast)
    thumb = Thumb(live)
    thumb.tap("Labels to read")
    thumb.tap("Record the label")
    expect(live.page.get_by_label("Type or paste the label")).to_be_focused()
    thumb.type("rice, sesame seeds")
    expect(live.page.locator("#reading")).to_contain_text("Sesame: was not named, now present")
    assert thumb.taps == on_record("known product, new label")
    thumb.tap("Save the label")
    expect(live.page.get_by_text("Saved as label 2")).to_be_visible()


def test_a_known_product_that_says_the_same(live: Live, cast: Cast) -> None:
    """Three taps renew the date."""
    crackers(cast)
    thumb = Thumb(live)
    thumb.tap("Labels to read")
    thumb.tap("Crackers")
    thumb.tap("I read it today: word for word as below")
    expect(live.page.get_by_text("read today, and word for word the same")).to_be_visible()
    assert thumb.taps == on_record("known product, the same label read again")


def test_the_list_follows_the_typing(live: Live, cast: Cast) -> None:
    """Without a button."""
    live.page.goto("/products/")
    live.page.get_by_label("Find a product").press_sequentially("oat")
    expect(live.page.locator("#found li")).to_have_count(1)


def test_a_file_is_tried_out_and_saved_without_choosing_it_twice(live: Live, cast: Cast) -> None:
    """With scripts the page stays, and with it the chosen file."""
    page = live.page
    page.goto("/imports/products/")
    header = KINDS["products"].header
    row = {"code": "B-1", "name": "Buns", "ingredients": "wheat flour", "seen_on": "2026-01-31"}
    content = f"{','.join(header)}\n{','.join(row.get(name, '') for name in header)}\n".encode()
    page.get_by_label("File").set_input_files({"name": "p.csv", "mimeType": "text/csv", "buffer": content})
    page.get_by_role("button", name="Try it out").click()
    expect(page.locator("#plan")).to_contain_text("Nothing to mend")
    assert not Product.objects.filter(code="B-1").exists()
    page.get_by_role("button", name="Save it").click()
    expect(page.get_by_role("status").first).to_contain_text("Saved")
    assert Product.objects.filter(code="B-1").exists()


def test_the_label_page_works_without_scripts(chromium: Browser, live: Live, cast: Cast) -> None:
    """Look, then save: two pages, no script."""
    plain = Live(chromium, live.url, scripts=False)
    plain.sign_in(cast.tomas)
    plain.page.goto(f"/products/{cast.larder.bread.pk}/label/")
    plain.page.get_by_label("Type or paste the label").fill(BUNS)
    plain.page.get_by_role("button", name="Show what was read").click()
    expect(plain.page.locator("#reading")).to_contain_text("Sesame")
    expect(plain.page.get_by_label("Type or paste the label")).to_have_value(BUNS)
    plain.page.get_by_role("button", name="Save the label").click()
    expect(plain.page).to_have_url(re.compile(r"/labels/\d+/$"))
    plain.close()
