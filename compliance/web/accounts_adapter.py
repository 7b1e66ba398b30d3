"""How allauth fits in here: nobody signs up, nothing is said in its words, secrets are kept encrypted."""

from __future__ import annotations

import time
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.authentication import get_authentication_records
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from roster.accounts.factors import FACTORS, must_have_factor
from roster.accounts.secrets import opened, sealed
from roster.models import User

WRONG = (
    "This name and password do not belong together. The password tells capital letters apart; type both again, or ask "
    "an administrator for a new link."
)
TOO_MANY = "There were too many tries. Wait a few minutes, then try again."
WRONG_CODE = (
    "This code is wrong, too old, or was used already. Wait for the next one in your app and type it; a recovery code "
    "works once."
)


class AccountAdapter(DefaultAccountAdapter):
    """Sign-in by name, accounts by invitation."""

    error_messages = DefaultAccountAdapter.error_messages | {
        "username_password_mismatch": WRONG,
        "too_many_login_attempts": TOO_MANY,
        "rate_limited": TOO_MANY,
        "incorrect_code": WRONG_CODE,
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        return False

    def add_message(self, *args: Any, **kwargs: Any) -> None:
        """Say nothing in allauth's words: our pages say what was done."""

    def respond_user_inactive(self, request: HttpRequest, user: User) -> HttpResponse:
        messages.error(request, "This account is closed. Ask an administrator to open it again.")
        return redirect("sign-in")

    def get_reauthentication_methods(self, user: Any) -> list[dict[str, Any]]:
        """One page for every way of saying once more who one is."""
        return [{"id": "again", "description": "", "url": reverse("sign-in-again")}]

    def is_reauthentication_required(self, *, app: str, **kwargs: Any) -> bool:
        """Whoever signed in a moment ago has just said who they are, by single sign-on too."""
        records = get_authentication_records(self.request, self.request.user)
        last = records[-1]["at"] if records else 0
        return time.time() - last > settings.ACCOUNT_REAUTHENTICATION_TIMEOUT


class FactorAdapter(DefaultMFAAdapter):
    """Codes and passkeys: encrypted in the database, named by the name to sign in with."""

    error_messages = DefaultMFAAdapter.error_messages | {"incorrect_code": WRONG_CODE}

    def encrypt(self, text: str) -> str:
        return sealed(text)

    def decrypt(self, encrypted_text: str) -> str:
        return opened(encrypted_text)

    def can_delete_authenticator(self, authenticator: Authenticator) -> bool:
        """The last second factor stays for whoever must have one."""
        others = Authenticator.objects.filter(user=authenticator.user, type__in=FACTORS).exclude(pk=authenticator.pk)
        return others.exists() or not must_have_factor(authenticator.user)

    def generate_authenticator_name(self, user: Any, type: Authenticator.Type) -> str:
        return f"Passkey {Authenticator.objects.filter(user=user, type=type).count() + 1}"

    def _get_user_identifier(self, user: Any) -> str:
        return str(user.get_username())

    def _get_site_name(self) -> str:
        return str(settings.MFA_TOTP_ISSUER)
