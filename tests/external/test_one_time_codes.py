"""One-time codes against the published test values.

Sources: RFC 4226 (HOTP), Appendix D; RFC 6238 (TOTP), Appendix B, SHA-1, of whose eight digits the last six are what a
code of six digits is; RFC 6238 section 5.2 (a code is taken once; one step of delay at most). Values from memory.
"""

from __future__ import annotations

import pytest
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value

from roster.accounts.codes import take_code
from tests.factories import UserFactory
from tests.web.codes import SECRET, hold_clock, with_app

HOTP = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]
TOTP = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}


@pytest.mark.parametrize(("count", "value"), list(enumerate(HOTP)))
def test_codes_by_count(count: int, value: str) -> None:
    """Appendix D of RFC 4226."""
    assert format_hotp_value(hotp_value(SECRET, count)) == value


@pytest.mark.django_db
@pytest.mark.parametrize(("at", "value"), list(TOTP.items()))
def test_codes_by_time_are_taken_once_and_one_step_late(monkeypatch: pytest.MonkeyPatch, at: int, value: str) -> None:
    """Appendix B of RFC 6238: at its second, half a minute later, not a minute later, and not twice."""
    user = with_app(UserFactory.create())
    hold_clock(monkeypatch, at + 60)
    assert take_code(user, value[2:]) is None
    hold_clock(monkeypatch, at + 30)
    assert take_code(user, value[2:]) is not None
    hold_clock(monkeypatch, at)
    assert take_code(user, value[2:]) is None
