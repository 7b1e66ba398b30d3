"""Every page for people with a keyboard, a screen reader or large type: WCAG 2.2 at level AA, as far as axe can tell.

Source: Web Content Accessibility Guidelines (WCAG) 2.2, W3C Recommendation, as encoded in the rules of axe-core.
What its rules cannot decide, text on hatching above all, stands in tests/web/test_contrast.py.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from playwright.sync_api import Browser, Page, expect

from tests.cast import assemble
from tests.chromium import DESK, PHONE, Live
from tests.web.doors import ACTORS, OPEN, PAGES, World, address, after_a_night, may_come_in

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

VENDOR = Path(__file__).parent / "vendor"
AXE = VENDOR / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
NO_PAGE = {
    *(
        "home",
        "treat-matches",
        "exceptions-export",
        "record-export",
        "kitchen-news",
        "order-sheet",
        "photo",
        "statement-scan",
    ),
    *("guardian-paper", "guardian-scan", "from-guardian-scan"),
    *("room-sheet", "emergency-sheet", "incident-report"),
    *("meal-counts", "tray-cards", "lunchbox-labels"),
    *("today-state", "treat-state", "serving-state", "kitchen-state", "nights-now", "whole-meals-now"),
    *("child-record", "child-fhir", "guardian-copy"),
}
"""Addresses that lead on, or answer with a fragment or a file."""


@pytest.fixture
def window(chromium: Browser, live_server) -> Iterator[Live]:
    """A window that takes a script from us beside those of the page."""
    window = Live(chromium, live_server.url, any_script=True)
    yield window
    window.context.close()


def faults(page: Page) -> list[str]:
    """What axe finds on the page, with everything folded out, on a phone and on a desk."""
    page.add_script_tag(path=AXE)
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    found = []
    for size in (PHONE, DESK):
        page.set_viewport_size(size)
        asked: dict[str, Any] = {"runOnly": RULES, "resultTypes": ["violations"]}
        for fault in page.evaluate("asked => axe.run(document, asked)", asked)["violations"]:
            found.append(f"{page.url} at {size['width']}: {fault['id']}: {fault['nodes'][0]['html']}")
    return found


def test_the_script_is_the_one_on_the_list() -> None:
    """A changed script fails."""
    assert hashlib.sha256(AXE.read_bytes()).hexdigest() in (VENDOR / "README.md").read_text()


def test_a_faulty_page_is_found_out(window: Live) -> None:
    """An image without words and grey on grey do not pass."""
    window.page.set_content("<html lang=en><title>x</title><main><h1>x</h1><img src=x><p style='color:#999'>pale</p>")
    found = " ".join(faults(window.page))
    assert "image-alt" in found and "color-contrast" in found


@pytest.mark.parametrize("actor", ACTORS)
def test_pages_hold_to_the_guidelines(window: Live, actor: str) -> None:
    """Each page once, as the first of the cast who may see it."""
    world = after_a_night(assemble())
    window.sign_in(getattr(world.cast, actor))
    found = []
    for name in shown_to(actor):
        window.page.goto(address(name, world))
        found += faults(window.page)
    assert not found


def test_no_page_is_left_out() -> None:
    """Every page is held against them as somebody."""
    seen = {name for actor in ACTORS for name in shown_to(actor)}
    assert seen == {name for name, door in PAGES.items() if door.method == "get"} - NO_PAGE


def shown_to(actor: str) -> list[str]:
    """Pages of which this one is the first in the list of actors who may see them."""
    pages = [name for name, door in PAGES.items() if door.method == "get" and name not in NO_PAGE]
    return [name for name in pages if first_to_see(name) == actor]


def first_to_see(name: str) -> str:
    """The first in the list of actors who may see the page."""
    roles = may_come_in(name)
    return next(actor for actor, role in ACTORS.items() if role in roles)


def test_pages_for_strangers_hold_to_the_guidelines(window: Live) -> None:
    """Signing in, the steps in an emergency, a link that no longer works."""
    found = []
    for name, kwargs in OPEN.items():
        if name not in ("healthz", "readyz"):
            window.page.goto(reverse(name, kwargs=kwargs))
            found += faults(window.page)
    assert not found


def test_a_treat_is_checked_without_a_mouse(live: Live) -> None:
    """By Tab and Enter alone; wherever the focus is, it shows."""
    world: World = after_a_night(assemble())
    live.sign_in(world.cast.rosa)
    page = live.page
    page.goto(address("treat", world))
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    tab_to(page, "textarea")
    page.keyboard.type("sugar, wheat flour, eggs")
    tab_to(page, "button[value=label]")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile(r"/treat/\d+/$"))
    expect(page.locator(".block-withhold")).to_be_visible()


def tab_to(page: Page, wanted: str) -> None:
    """Press Tab until that is focused; everything passed on the way shows that it has the focus."""
    for _ in range(30):
        page.keyboard.press("Tab")
        assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            return
    raise AssertionError(f"No Tab leads to {wanted}.")
