"""Saying once more who one is: by the password, or by a code that the app shows now."""

from __future__ import annotations

from roster.accounts.codes import take_code
from roster.models import User


def is_theirs(user: User, typed: str) -> bool:
    """Tell whether it is the person's password, or the current code of their app, which is used up by this."""
    if user.has_usable_password() and user.check_password(typed):
        return True
    return take_code(user, typed) is not None


def what_to_type(user: User) -> str:
    """Return what the person can type, as the label of the field."""
    return "Your password, or a code from your app" if user.has_usable_password() else "A code from your app"
