"""Signing with a code of one's app in place of the password."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from compliance.models import Referral
from roster.models import User
from tests.cast import Cast
from tests.factories import PASSWORD
from tests.web.codes import code, is_in, recovery_codes, still, with_app
from tests.web.doors import after_a_night
from tests.web.pages import as_user, soup, words

__all__ = ["still"]
pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("still")]


def filled(referral: Referral, typed: str, **more: str) -> dict[str, Any]:
    """An answer to the referral, signed with what was typed."""
    return {
        "referrals": [referral.pk],
        "answer": "keep",
        "ends_on": (timezone.localdate() + timedelta(days=30)).isoformat(),
        "note": "Not for Kofi.",
        "signature": "Hakim, RN",
        "password": typed,
        **more,
    }


def signed(cast: Cast, referral: Referral, typed: str, **more: str) -> Any:
    """Hakim's answer."""
    return as_user(cast.hakim).post(reverse("referral", args=[referral.pk]), filled(referral, typed, **more))


@pytest.fixture
def referral(cast: Cast) -> Referral:
    """A question about Kofi that waits."""
    return after_a_night(cast).referral


def answered(referral: Referral) -> bool:
    """Whether there is an answer on record."""
    referral.refresh_from_db()
    return referral.answered_at is not None


def test_a_code_signs_and_the_field_says_so(cast: Cast, referral: Referral) -> None:
    """In place of the password."""
    address = reverse("referral", args=[referral.pk])
    assert "Your password, or a code from your app" in words(as_user(cast.hakim).get(address))
    with_app(cast.hakim)
    assert signed(cast, referral, code()).status_code == 302
    assert answered(referral)


def test_who_has_no_password_signs_with_a_code(cast: Cast, referral: Referral) -> None:
    """As those do who sign in by single sign-on."""
    with_app(cast.hakim)
    User.objects.filter(pk=cast.hakim.pk).update(password="!")
    cast.hakim.refresh_from_db()
    assert "A code from your app" in words(as_user(cast.hakim).get(reverse("referral", args=[referral.pk])))
    assert "This is not the code" in words(signed(cast, referral, PASSWORD))
    signed(cast, referral, code())
    assert answered(referral)


def test_a_code_signs_once(cast: Cast, referral: Referral) -> None:
    """One that was used to sign in, or to sign something else, signs nothing more."""
    with_app(cast.hakim)
    other = Referral.objects.waiting().exclude(subject=referral.subject).first()
    assert other is not None
    signed(cast, other, code())
    assert answered(other)
    page = signed(cast, referral, code())
    assert "Nothing was signed" in words(page) and not answered(referral)
    signed(cast, referral, code(1))
    assert answered(referral)


@pytest.mark.parametrize("typed", ["guess", "000000", "１２３４５６"])
def test_what_is_neither_signs_nothing(cast: Cast, referral: Referral, typed: str) -> None:
    """What was typed beside it stays."""
    page = signed(cast, referral, typed)
    assert "This is not your password" in words(page) and not answered(referral)
    assert "Not for Kofi." in soup(page).find(id="id_note").get_text()


def test_a_recovery_code_signs_nothing(cast: Cast, referral: Referral) -> None:
    """It is for a lost phone, at the sign-in alone."""
    first, *_ = recovery_codes(with_app(cast.hakim))
    signed(cast, referral, first)
    assert not answered(referral)


def test_a_form_that_is_not_in_order_uses_up_no_code(cast: Cast, referral: Referral) -> None:
    """Else whoever forgot the note would wait for the next code."""
    with_app(cast.hakim)
    assert signed(cast, referral, code(), answer="").status_code == 200
    signed(cast, referral, code())
    assert answered(referral)


def test_guessing_codes_ends_the_session(cast: Cast, referral: Referral) -> None:
    """As guessing the password does."""
    client = as_user(with_app(cast.hakim))
    address = reverse("referral", args=[referral.pk])
    told = [client.post(address, filled(referral, f"00000{n}")).status_code for n in range(5)]
    assert told == [200, 200, 200, 200, 403]
    assert not is_in(client) and not answered(referral)
