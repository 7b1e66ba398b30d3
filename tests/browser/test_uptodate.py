"""A teacher's phone and a cook's screen, left open while somebody records a restriction elsewhere."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from compliance.checks.run import check_site
from compliance.models import Run
from menus.models import Serving
from roster.models import User
from roster.services import record_restriction
from tests.browser.test_access import faults, window
from tests.cast import Cast, assemble
from tests.chromium import DESK, PHONE, Live
from tests.compliance.checks.test_pageread import asked
from tests.factories import LabelFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

__all__ = ["window"]
OLD = "This page is out of date: a restriction"


@pytest.fixture
def cast(live: Live, settings) -> Iterator[Cast]:
    """The cast after a check; pages ask every two seconds, so that nobody waits for a minute."""
    settings.UP_TO_DATE_SECONDS = 2
    made = assemble()
    check_site(site=made.ferrowick, trigger=Run.Trigger.HAND)
    yield made
    live.page.goto("about:blank")  # no page asks any more when the tables are emptied


def opened(live: Live, address: str) -> None:
    """Open the page and wait until it has asked and heard nothing: what is written next is not written under it."""
    with live.page.expect_response(lambda answer: "/state/" in answer.url) as first:
        live.page.goto(address)
    assert first.value.status == 204
    expect(live.page.locator("#state")).to_be_empty()


def pages(cast: Cast) -> list[tuple[User, str, str]]:
    serving = Serving.objects.get(site=cast.ferrowick, recipe=cast.dishes.oat_bar)
    return [
        (cast.rosa, f"/today/?class={cast.larks.pk}", "Load it again"),
        (cast.rosa, reverse("treat-result", args=[asked(cast).pk]), "Check the treat again"),
        (cast.greta, reverse("serving", args=[serving.pk]), "Load it again"),
        (cast.greta, "/kitchen/day/?site=ferrowick", "Load it again"),
    ]


@pytest.mark.parametrize("number", range(4))
def test_the_open_page_says_so_and_leads_on(live: Live, cast: Cast, number: int) -> None:
    """Nothing for as long as nothing changes; then the banner, by itself, in sight at the top of the page."""
    who, address, words = pages(cast)[number]
    live.sign_in(who)
    opened(live, address)
    record_restriction(child=cast.bao, substance="sesame")
    banner = live.page.get_by_role("alert").filter(has_text=OLD)
    expect(banner).to_be_visible()
    for size in (PHONE, DESK):
        live.page.set_viewport_size(size)
        assert live.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        expect(banner).to_be_in_viewport()
    banner.get_by_role("link", name=words).click()
    expect(live.page.locator("main h1")).to_be_visible()
    if "/servings/" not in address:  # that one speaks of a check, which is made anew first
        expect(live.page.get_by_role("alert").filter(has_text=OLD)).to_have_count(0)


def test_the_banner_and_two_versions_hold_to_the_accessibility_guidelines(window: Live, cast: Cast) -> None:
    """What stands on a page only when something has changed meanwhile (WCAG 2.2 AA, by axe)."""
    check = asked(cast)
    record_restriction(child=cast.bao, substance="sesame")
    window.sign_in(cast.rosa)
    window.page.goto(reverse("treat-result", args=[check.pk]))
    expect(window.page.get_by_role("alert").filter(has_text=OLD)).to_be_visible()
    assert not faults(window.page)
    window.sign_in(cast.greta)
    window.page.goto(reverse("label-new", args=[cast.larder.bread.pk]))
    LabelFactory.create(product=cast.larder.bread, ingredients="wheat flour, egg", seen_by=cast.hakim)
    window.page.locator("#id_ingredients").fill("rice")
    window.page.get_by_role("button", name="Save the label").last.click()
    expect(window.page.locator(".both")).to_be_visible()
    assert not faults(window.page)


def test_what_is_being_typed_is_left_alone(live: Live, cast: Cast) -> None:
    """The banner comes beside a form that is half filled in."""
    live.sign_in(cast.greta)
    opened(live, "/kitchen/day/?site=ferrowick")
    live.page.evaluate("document.querySelector('main').insertAdjacentHTML('beforeend', '<input id=\"half\">')")
    live.page.locator("#half").fill("half a sentence")
    record_restriction(child=cast.bao, substance="sesame")
    expect(live.page.get_by_role("alert").filter(has_text=OLD)).to_be_visible()
    expect(live.page.locator("#half")).to_have_value("half a sentence")


def test_a_page_asks_no_more_once_it_is_told(live: Live, cast: Cast) -> None:
    live.sign_in(cast.rosa)
    opened(live, f"/today/?class={cast.larks.pk}")
    record_restriction(child=cast.bao, substance="sesame")
    expect(live.page.get_by_role("alert").filter(has_text=OLD)).to_be_visible()
    heard: list[str] = []
    live.page.on("request", lambda request: heard.append(request.url))
    live.page.wait_for_timeout(4_500)
    assert not [url for url in heard if "/state/" in url]
