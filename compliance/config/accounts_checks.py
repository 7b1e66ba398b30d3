"""What can be set wrong about signing in, without stopping Django: each said at start, with how to mend it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Warning

from roster.models import Role


def check_accounts(**_: Any) -> list[CheckMessage]:
    """Return what is wrong in the settings of accounts."""
    return list(_wrong())


def check_factors(**_: Any) -> list[CheckMessage]:
    """Return a warning where nobody must have a second factor. For real use alone (`check --deploy`)."""
    if settings.SECOND_FACTOR_ROLES:
        return []
    return [
        Warning(
            "SECOND_FACTOR_ROLES is empty, so a password alone opens children's health records.",
            hint="Leave it out: licensed, administrator and auditor must then have a second factor.",
            id="compliance.W020",
        )
    ]


def _wrong() -> Iterator[CheckMessage]:
    unknown = sorted(set(settings.SECOND_FACTOR_ROLES) - set(Role.values))
    if unknown:
        yield Error(
            f"SECOND_FACTOR_ROLES names {', '.join(unknown)}, which is no role.",
            hint=f"Roles are: {', '.join(Role.values)}. Leave it out for licensed, administrator, auditor.",
            id="compliance.E021",
        )
    for name in ("SIGN_IN_TRIES", "SIGN_IN_PAUSE_MINUTES", "SIGN_IN_KEPT_DAYS"):
        if getattr(settings, name) < 1:
            yield Error(
                f"{name} is {getattr(settings, name)}, so nobody could sign in, or everybody could go on guessing.",
                hint="Set it to 1 or more.",
                id="compliance.E002",
            )
    if settings.SSO_ISSUER and not settings.SSO_ISSUER.startswith("https://"):
        yield Error(
            f"SSO_ISSUER is {settings.SSO_ISSUER!r}: without HTTPS anybody on the way could say who has signed in.",
            hint="Give the provider's address with https://.",
            id="compliance.E020",
        )
    for provider in settings.SOCIALACCOUNT_PROVIDERS.get("openid_connect", {}).get("APPS", []):
        if not (provider["client_id"] and provider["secret"]):
            yield Error(
                "SSO_ISSUER is set, but SSO_CLIENT_ID or SSO_CLIENT_SECRET is not.",
                hint="Set all three, as the provider gave them, or none.",
                id="compliance.E022",
            )
