"""One-time codes, each taken once.

RFC 6238 section 5.2: a verifier must not accept a code a second time. The step of the last code taken is kept with the
secret, in the row that is locked while it is looked at, so that two tries at once and two processes see each other.
Codes, steps and secrets are worked out by allauth.
"""

from __future__ import annotations

import hmac

from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value, yield_hotp_counters_from_time
from allauth.mfa.utils import decrypt
from django.db import transaction

from roster.models import User

LAST_STEP = "last_step"


@transaction.atomic
def take_code(user: User, typed: str) -> Authenticator | None:
    """Take the current code of the person's app, once; return what made it, or None for any other text."""
    app = Authenticator.objects.select_for_update().filter(user=user, type=Authenticator.Type.TOTP).first()
    code = typed.replace(" ", "")
    if app is None or not code.isascii():
        return None
    secret, last = decrypt(app.data["secret"]), app.data.get(LAST_STEP, 0)
    for step in yield_hotp_counters_from_time():
        if step > last and hmac.compare_digest(format_hotp_value(hotp_value(secret, step)), code):
            app.data[LAST_STEP] = step
            app.save(update_fields=["data"])
            return app
    return None


def take_recovery_code(user: User, typed: str) -> Authenticator | None:
    """Take one of the person's recovery codes, once; return the set it belongs to, or None for any other text."""
    codes = Authenticator.objects.filter(user=user, type=Authenticator.Type.RECOVERY_CODES).first()
    if codes and codes.wrap().validate_code(typed):
        return codes
    return None


def has_codes(user: User) -> bool:
    """Tell whether the person has an app that makes codes. One query."""
    return Authenticator.objects.filter(user=user, type=Authenticator.Type.TOTP).exists()
