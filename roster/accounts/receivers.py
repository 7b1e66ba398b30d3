"""What is written down when somebody signs in, fails to, is locked out, or changes their second factor."""

from __future__ import annotations

from typing import Any

from allauth.account.authentication import get_authentication_records
from allauth.account.signals import user_logged_in
from allauth.mfa.models import Authenticator
from allauth.mfa.signals import authentication_failed, authenticator_added, authenticator_removed, authenticator_reset
from axes.signals import user_locked_out
from django.conf import settings
from django.contrib.auth.signals import user_logged_out, user_login_failed
from django.http import HttpRequest
from django.utils import timezone

from menus.signals import keys_rotated
from roster.accounts.history import remember_sign_in
from roster.accounts.secrets import rotate_secrets
from roster.models import Action, User, Verb, Way
from roster.record.write import named, record

WAYS: dict[tuple[str, str], Way] = {
    ("password", ""): Way.PASSWORD,
    ("password", Authenticator.Type.TOTP): Way.CODE,
    ("password", Authenticator.Type.WEBAUTHN): Way.PASSKEY,
    ("password", Authenticator.Type.RECOVERY_CODES): Way.RECOVERY,
    ("socialaccount", ""): Way.SSO,
    ("socialaccount", Authenticator.Type.TOTP): Way.SSO_CODE,
    ("socialaccount", Authenticator.Type.WEBAUTHN): Way.SSO_PASSKEY,
    ("socialaccount", Authenticator.Type.RECOVERY_CODES): Way.SSO_RECOVERY,
}


def connect() -> None:
    """Begin to listen."""
    keys_rotated.connect(_rotate, dispatch_uid="secrets of second factors")
    user_logged_in.connect(_came_in, dispatch_uid="sign-in history")
    user_logged_out.connect(_went_out, dispatch_uid="signing out on record")
    user_login_failed.connect(_failed, dispatch_uid="sign-in history of failures")
    authentication_failed.connect(_passkey_failed, dispatch_uid="sign-in history of second factors")
    user_locked_out.connect(_locked, dispatch_uid="lock on record")
    authenticator_added.connect(_factor_added, dispatch_uid="second factor on record")
    authenticator_removed.connect(_factor_removed, dispatch_uid="end of a second factor on record")
    authenticator_reset.connect(_codes_renewed, dispatch_uid="recovery codes on record")


def _rotate(**_: Any) -> int:
    return rotate_secrets()


def way_of(records: list[dict[str, Any]]) -> Way:
    """Return by what somebody came in, of the steps that allauth noted."""
    first = "socialaccount" if any(each["method"] == "socialaccount" for each in records) else "password"
    second = next((each["type"] for each in records if each["method"] == "mfa"), "")
    return WAYS[first, second]


def _came_in(request: HttpRequest, user: User, **_: Any) -> None:
    way = way_of(get_authentication_records(request, user))
    remember_sign_in(user, way, request, came_in=True)
    record(Verb.SIGNED_IN, user, by=user.pk, way=way)


def _went_out(user: User | None, **_: Any) -> None:
    if user:
        record(Verb.SIGNED_OUT, user, by=user.pk)


def _failed(credentials: dict[str, Any], request: HttpRequest | None = None, **_: Any) -> None:
    name = credentials.get("username") or ""
    user = User.objects.filter(username__iexact=name.strip()).first()
    if user:
        locked = bool(getattr(request, "axes_locked_out", False))
        remember_sign_in(user, credentials.get("way", Way.PASSWORD), request, came_in=False, locked=locked)


def _passkey_failed(request: HttpRequest, user: User, **_: Any) -> None:
    remember_sign_in(user, Way.PASSKEY, request, came_in=False)


def _locked(username: str | None, **_: Any) -> None:
    """Once a lock, not once a try. A name that nobody has is not written down: it may be a password typed amiss."""
    user = User.objects.filter(username__iexact=username or "").first()
    subject = named(user) if user else "unknown name"
    since = timezone.now() - settings.AXES_COOLOFF_TIME
    if not Action.objects.filter(verb=Verb.REFUSED, subject=subject, recorded_at__gt=since).exists():
        record(Verb.REFUSED, subject, why="locked after too many failed sign-ins", tries=settings.AXES_FAILURE_LIMIT)


def _factor_added(user: User, authenticator: Authenticator, **_: Any) -> None:
    record(Verb.RECORDED, f"second factor of user {user.pk}", by=user.pk, after=authenticator.type)


def _factor_removed(user: User, authenticator: Authenticator, **_: Any) -> None:
    record(Verb.ENDED, f"second factor of user {user.pk}", by=user.pk, before=authenticator.type)


def _codes_renewed(user: User, **_: Any) -> None:
    record(Verb.RECORDED, f"second factor of user {user.pk}", by=user.pk, after="new recovery codes")
