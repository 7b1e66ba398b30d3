"""Secrets of second factors, kept encrypted with FILE_KEYS: the first key encrypts, any of them opens."""

from __future__ import annotations

from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings
from django.db import transaction

from menus.sealed import KeyLost

SEALED = ("secret", "seed")
"""Where allauth keeps the secret of an app, and that of recovery codes."""


def sealed(text: str) -> str:
    """Return the text encrypted."""
    return _keys().encrypt(text.encode()).decode()


def opened(token: str) -> str:
    """Return the text again. Raises KeyLost when none of the keys opens it."""
    try:
        return _keys().decrypt(token.encode()).decode()
    except InvalidToken:
        raise KeyLost("the secret of a second factor") from None


@transaction.atomic
def rotate_secrets() -> int:
    """Encrypt every secret anew with the first key and return how many. Raises KeyLost, and then changes none."""
    changed = 0
    for row in Authenticator.objects.select_for_update().exclude(type=Authenticator.Type.WEBAUTHN):
        for name in SEALED:
            if name in row.data:
                row.data[name] = sealed(opened(row.data[name]))
                changed += 1
        row.save(update_fields=["data"])
    return changed


def _keys() -> MultiFernet:
    return MultiFernet([Fernet(key) for key in settings.FILE_KEYS])
