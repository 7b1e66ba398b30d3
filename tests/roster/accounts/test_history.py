"""What is kept of an address and of a browser: enough for the owner to tell, and no more."""

from __future__ import annotations

import ipaddress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roster.accounts.history import FAMILIES, SYSTEMS, browser_of, network_of
from roster.accounts.receivers import way_of
from roster.models import SignIn, Way

GECKO = "Mozilla/5.0 ({}) Gecko/20100101 Firefox/140.0"
WEBKIT = "Mozilla/5.0 ({}) AppleWebKit/537.36 (KHTML, like Gecko) {} Safari/537.36"


@pytest.mark.parametrize(
    ("address", "network"),
    [
        ("192.0.2.77", "192.0.2.0"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1::"),
        ("", ""),
        (None, ""),
        ("unix socket", ""),
    ],
)
def test_of_an_address_the_network(address: str | None, network: str) -> None:
    """Addresses for documentation: RFC 5737 and RFC 3849."""
    assert network_of(address) == network


@given(st.ip_addresses())
def test_the_last_part_is_never_kept(address: ipaddress.IPv4Address | ipaddress.IPv6Address) -> None:
    """Of IPv4 the last eight bits, of IPv6 the last eighty."""
    kept = ipaddress.ip_address(network_of(str(address)))
    assert int(kept) % (2 ** (8 if address.version == 4 else 80)) == 0


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (GECKO.format("X11; Linux x86_64; rv:140.0"), "Firefox on Linux"),
        (WEBKIT.format("Windows NT 10.0; Win64; x64", "Chrome/140.0.0.0"), "Chrome on Windows"),
        (WEBKIT.format("Windows NT 10.0; Win64; x64", "Chrome/140.0.0.0") + " Edg/140.0.0.0", "Edge on Windows"),
        (WEBKIT.format("Linux; Android 10; K", "Chrome/140.0.0.0 Mobile"), "Chrome on Android"),
        (WEBKIT.format("iPhone; CPU iPhone OS 18_0 like Mac OS X", "Version/18.0 Mobile/15E148"), "Safari on iPhone"),
        (WEBKIT.format("Macintosh; Intel Mac OS X 10_15_7", "Version/18.0"), "Safari on macOS"),
        ("python-requests/2.32", "Another program"),
        ("", "Another program"),
    ],
)
def test_of_a_browser_its_family(line: str, told: str) -> None:
    """Lines in the form that RFC 9110 section 10.1.5 gives and browsers send; versions are not kept."""
    assert browser_of(line) == told


@given(st.text(max_size=300))
def test_whatever_a_browser_says_fits_and_is_none_of_its_words(line: str) -> None:
    """What somebody puts into that line stands on no page."""
    told = browser_of(line)
    families, systems = {name for _, name in FAMILIES}, {name for _, name in SYSTEMS}
    family, _, system = told.partition(" on ")
    assert family in {*families, "Another program"} and system in {*systems, ""}
    assert len(told) <= SignIn._meta.get_field("browser").max_length


@pytest.mark.parametrize(
    ("steps", "way"),
    [
        ([], Way.PASSWORD),
        ([{"method": "password"}], Way.PASSWORD),
        ([{"method": "password"}, {"method": "mfa", "type": "totp"}], Way.CODE),
        ([{"method": "password"}, {"method": "mfa", "type": "webauthn"}], Way.PASSKEY),
        ([{"method": "password"}, {"method": "mfa", "type": "recovery_codes"}], Way.RECOVERY),
        ([{"method": "socialaccount"}], Way.SSO),
        ([{"method": "socialaccount"}, {"method": "mfa", "type": "totp"}], Way.SSO_CODE),
    ],
)
def test_by_what_somebody_came_in(steps: list[dict[str, str]], way: Way) -> None:
    """Of what allauth noted."""
    assert way_of(steps) == way
