"""While a night is under way its page keeps itself up to date; without scripts it is loaded again by hand."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, expect

from compliance.models import Night, NightSlice
from tests.cast import assemble
from tests.chromium import Live
from tests.compliance.operations.rows import letter_of, night_under_way

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_the_page_follows_the_night(live: Live) -> None:
    """The bar moves within seconds, and nobody loses their place; when the night has ended the page asks no more."""
    cast = assemble()
    night = night_under_way([cast.ferrowick], [cast.tansy_gate])
    live.sign_in(cast.june)
    page = live.page
    page.clock.install()
    page.goto("/nights/")
    expect(page.locator("progress")).to_have_attribute("value", "1")
    NightSlice.objects.filter(night=night, number=2).update(
        state=NightSlice.State.DONE, counts={"checked": 1, "busy": 0, "failed": 0}
    )
    stop = page.get_by_role("link", name="Stop asking again")
    stop.focus()
    page.clock.run_for(5_000)
    expect(page.locator("progress")).to_have_attribute("value", "2")
    expect(stop).to_be_focused()
    Night.objects.filter(pk=night.pk).update(state=Night.State.COMPLETE, closed_at=timezone.now())
    page.clock.run_for(5_000)
    expect(page.locator("progress")).to_have_count(0)
    expect(page.get_by_role("cell", name="2 of 2 checked")).to_be_visible()
    expect(page.get_by_role("status")).to_contain_text("The night has ended.")
    assert page.locator("#progress").get_attribute("hx-get") is None


def test_it_works_without_scripts(chromium: Browser, live_server) -> None:
    """How far the night is stands there, with a way to load it again; trying again is a plain form."""
    cast = assemble()
    night_under_way([cast.ferrowick], [cast.tansy_gate])
    letter_of(cast.ferrowick)
    window = Live(chromium, live_server.url, scripts=False)
    window.sign_in(cast.june)
    window.page.goto("/nights/")
    expect(window.page.get_by_text("1 of 2 checked, 1 being checked;")).to_be_visible()
    window.page.get_by_role("link", name="Load the page again").click()
    window.page.get_by_role("button", name="Try again").click()
    expect(window.page.get_by_text("the check is in the queue again")).to_be_visible()
    window.close()
