"""Second factors for tests: an app that makes codes, and a clock that stands still while they are typed."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.internal.auth import RecoveryCodes
from allauth.mfa.totp.internal import auth
from django.test import Client

from roster.models import User
from tests.factories import PASSWORD

NOW = 1_800_000_000
SECRET = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
"""“12345678901234567890”, the secret of the test values of RFC 4226 and RFC 6238, in base 32."""


def hold_clock(patch: pytest.MonkeyPatch, at: int = NOW) -> None:
    """Let the codes be worked out at that second."""
    patch.setattr(auth, "time", SimpleNamespace(time=lambda: at))


@pytest.fixture
def still(monkeypatch: pytest.MonkeyPatch) -> None:
    """No step begins while a test runs."""
    hold_clock(monkeypatch)


def with_app(user: User) -> User:
    """The person with an app that makes codes."""
    auth.TOTP.activate(user, SECRET)
    return user


def code(steps_away: int = 0, at: int = NOW) -> str:
    """What the app shows, some half minutes earlier or later."""
    return auth.format_hotp_value(auth.hotp_value(SECRET, at // 30 + steps_away))


def recovery_codes(user: User) -> list[str]:
    """The person's recovery codes, made for them."""
    return RecoveryCodes.activate(user).generate_codes()


def has_app(user: User) -> bool:
    """Whether the person has an app for codes."""
    return Authenticator.objects.filter(user=user, type=Authenticator.Type.TOTP).exists()


def signing_in(user: User, password: str = PASSWORD, client: Client | None = None) -> Client:
    """A client on which name and password were typed."""
    client = client or Client()
    client.post("/sign-in/", {"username": user.username, "password": password})
    return client


def is_in(client: Client) -> bool:
    """Whether the pages are open to the client."""
    return client.get("/account/").status_code == 200
