"""A guardian on a phone puts a lunchbox together (docs/how-to/lunchbox.md)."""

from __future__ import annotations

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from roster.life.lunchbox import Packed, save_box
from roster.models import Basis
from roster.services import record_restriction
from tests.browser.fits import fits
from tests.cast import Cast, assemble
from tests.chromium import Live
from tests.factories import RoomApprovalFactory, TextureLevelFactory

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def cast(live: Live) -> Cast:
    """The cast, a room with a rule about peanut, and Amara signed in."""
    made = assemble()
    record_restriction(child=made.mateo, substance="peanut", basis=Basis.POLICY)
    live.sign_in(made.amara)
    return made


def test_foods_are_put_in_and_judged(live: Live, cast: Cast) -> None:
    """From her list of children to a box with bread, which her child may not have."""
    page = live.page
    page.goto("/lunchboxes/")
    page.locator(".week a").first.click()
    page.get_by_label("Day").fill(timezone.localdate().isoformat())
    page.get_by_role("button", name="Show").click()
    page.get_by_label("Food", exact=True).select_option("bread")
    page.get_by_role("button", name="Put in", exact=True).first.click()
    expect(page.locator(".outcome-withhold").first).to_be_visible()
    page.get_by_role("button", name="Take out").click()
    expect(page.get_by_text("Nothing yet.")).to_be_visible()


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_the_pages_fit_the_screen_and_the_finger(live: Live, cast: Cast, width: int) -> None:
    """A full box, the week, the list, the approvals, a level of texture."""
    TextureLevelFactory.create(child=cast.noor, recorded_by=cast.hakim)
    RoomApprovalFactory.create(site=cast.ferrowick, approved_by=cast.june)
    foods = [
        Packed("Grapes", household="grapes", form="halved", keeps="cold"),
        Packed("Bread, whole wheat", household="bread", keeps="any"),
        Packed("Sunflower seed butter", words="sunflower seeds, salt", seen_on=timezone.localdate(), keeps="any"),
        Packed("Peanut butter", product=cast.larder.peanut_butter),
    ]
    save_box(child=cast.noor, day=timezone.localdate(), items=foods, by=cast.amara, replaces=None)
    today = timezone.localdate().isoformat()
    box = f"/lunchboxes/{cast.noor.pk}/"
    for address in (box, f"{box}?language=es", f"/lunchboxes/?week={today}", f"/lunchboxes/list/?week={today}"):
        fits(live.page, address, width)
    live.sign_in(cast.hakim)
    for address in ("/approvals/?q=bread", f"/children/{cast.kofi.pk}/texture/", f"/lunchboxes/?class={cast.larks.pk}"):
        fits(live.page, address, width)
