"""Passkeys and codes in a real browser: set up, signed in with, and within reach of everybody."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from allauth.mfa.models import Authenticator
from playwright.sync_api import Browser, Page, expect

from roster.models import SignIn, Way
from tests.browser.fits import fits
from tests.browser.test_access import faults
from tests.cast import Cast, assemble
from tests.chromium import Live
from tests.factories import PASSWORD
from tests.web.codes import with_app

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEY = {
    "protocol": "ctap2",
    "transport": "internal",
    "hasResidentKey": True,
    "hasUserVerification": True,
    "isUserVerified": True,
}
"""An authenticator that the browser plays itself (W3C Web Authentication, section 11: automation)."""


@pytest.fixture
def cast(db: None) -> Cast:
    return assemble()


@pytest.fixture
def window(chromium: Browser, live_server) -> Iterator[Live]:
    """A window that takes the script of the accessibility rules beside those of the page."""
    window = Live(chromium, live_server.url, any_script=True)
    yield window
    window.context.close()


def with_key(live: Live) -> Live:
    """The window with a passkey at hand."""
    devtools = live.context.new_cdp_session(live.page)
    devtools.send("WebAuthn.enable")
    devtools.send("WebAuthn.addVirtualAuthenticator", {"options": KEY})
    return live


def press(page: Page, button: str) -> None:
    """Press a button that asks for the passkey, in the window that is in front: no other is given one."""
    page.bring_to_front()
    page.get_by_role("button", name=button).click()


def sign_in(live: Live, name: str) -> None:
    """Type name and password."""
    live.page.goto("/sign-in/")
    live.page.get_by_label("Name").fill(name)
    live.page.get_by_label("Password").fill(PASSWORD)
    live.page.get_by_role("button", name="Sign in").click()


def test_a_passkey_is_set_up_and_opens_the_second_step(live: Live, cast: Cast, settings) -> None:
    """From being led to the set-up to signing in with it, under the strict content policy."""
    settings.SECOND_FACTOR_ROLES = ["licensed"]
    page = with_key(live).page
    sign_in(live, "hakim")
    page.wait_for_url("**/account/second-factor/")
    page.get_by_role("link", name="Set up a passkey").click()
    page.get_by_label("What you call it").fill("The key on my ring")
    press(page, "Set it up")
    page.wait_for_url("**/recovery/")
    expect(page.locator(".codes li")).to_have_count(10)
    page.get_by_role("link", name="I have put them away").click()
    page.wait_for_url("**/referrals/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")

    sign_in(live, "hakim")
    page.wait_for_url("**/sign-in/second-step/")
    press(page, "Use your passkey")
    page.wait_for_url("**/referrals/")
    assert SignIn.objects.filter(user=cast.hakim, way=Way.PASSKEY, came_in=True).exists()
    assert str(Authenticator.objects.get(user=cast.hakim, type="webauthn")) == "The key on my ring"


def test_a_passkey_that_does_not_answer_is_said(live: Live, cast: Cast) -> None:
    """No key at hand: the page says what else there is."""
    page = with_key(live).page
    sign_in(live, "rosa")
    page.goto("/account/second-factor/passkey/")
    press(page, "Set it up")
    page.wait_for_url("**/recovery/")
    page.goto("/today/")
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/")
    devtools = live.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    devtools.send("WebAuthn.disable")
    with_key(live)
    sign_in(live, "rosa")
    press(page, "Use your passkey")
    expect(page.get_by_text("The passkey was not taken. Try again, or use a code.")).to_be_visible()


def test_the_pages_of_accounts_hold_to_the_guidelines(window: Live, cast: Cast) -> None:
    """Those that the walk over every page does not come to: second step, set-up, recovery codes, a lock."""
    found, page = [], window.page
    with_app(cast.greta)
    sign_in(window, "greta")
    page.wait_for_url("**/sign-in/second-step/")
    found += faults(page)
    sign_in(window, "rosa")
    for address in ("codes/", "passkey/"):
        page.goto(f"/account/second-factor/{address}")
        found += faults(page)
    with_key(window)
    page.reload()
    press(page, "Set it up")
    page.wait_for_url("**/recovery/")
    found += faults(page)
    for address in ("/account/", "/account/second-factor/recovery/", "/account/second-factor/recovery/new/"):
        page.goto(address)
        found += faults(page)
    page.goto("/account/")
    page.get_by_role("link", name=re.compile("Remove")).click()
    found += faults(page)
    window.context.clear_cookies()
    for _ in range(5):
        page.goto("/sign-in/")
        page.get_by_label("Name").fill("dmitri")
        page.get_by_label("Password").fill("guess")
        page.get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="Too many wrong tries")).to_be_visible()
    assert not found + faults(page)


@pytest.mark.parametrize("width", [390, 1280])
def test_nothing_is_cut_off(live: Live, cast: Cast, width: int) -> None:
    """On a phone and on a desk, and every button within reach of a thumb."""
    live.sign_in(cast.june)
    for address in ("/account/", "/people/", f"/people/{cast.greta.pk}/", "/people/invite/", "/account/second-factor/"):
        fits(live.page, address, width)
