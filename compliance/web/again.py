"""Who are you? Asked once more before a second factor or the password is changed."""

from __future__ import annotations

from typing import Any

from allauth.account.internal.flows.login import record_authentication
from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn.forms import ReauthenticateWebAuthnForm
from allauth.mfa.webauthn.internal.auth import begin_authentication
from django import forms
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods

from compliance.web.identity import is_theirs, what_to_type
from compliance.web.signed_in import SignedInRequest
from roster.models import Verb
from roster.record.write import record

MOST_WRONG = 5
COUNT = "wrong passwords"


def refuse_wrong(request: SignedInRequest, what: str) -> None:
    """Count a wrong password or code. After some the person is signed out: whoever sits there is perhaps another."""
    request.session[COUNT] = request.session.get(COUNT, 0) + 1
    record(Verb.REFUSED, what, by=request.user.pk, wrong=request.session[COUNT])
    if request.session[COUNT] >= MOST_WRONG:
        logout(request)
        raise PermissionDenied("It was wrong too often, so you were signed out. Sign in and try again.")


class AgainForm(forms.Form):
    """Password or code of whoever is signed in."""

    password = forms.CharField(
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password", "autofocus": True}),
        error_messages={"required": "Type it, so that nobody changes your account at a screen left open."},
    )

    def __init__(self, request: SignedInRequest, data: Any = None) -> None:
        super().__init__(data, label_suffix="")
        self.request = request
        self.fields["password"].label = what_to_type(request.user)

    def clean_password(self) -> str:
        """Refuse what is not theirs."""
        typed: str = self.cleaned_data["password"]
        if not is_theirs(self.request.user, typed):
            refuse_wrong(self.request, "who it is")
            raise ValidationError(
                "This is neither your password nor the code that your app shows now. A code counts once: wait for the "
                "next one.",
                code="password",
            )
        self.request.session.pop(COUNT, None)
        return typed


@require_http_methods(["GET", "POST"])
def again(request: SignedInRequest) -> HttpResponse:
    """Ask for password, code or passkey, and go on to where the person wanted to go."""
    by_passkey = request.method == "POST" and "credential" in request.POST
    form = AgainForm(request, request.POST if request.method == "POST" and not by_passkey else None)
    passkey = ReauthenticateWebAuthnForm(user=request.user, data=request.POST if by_passkey else None)
    if by_passkey and passkey.is_valid():
        passkey.save()
        return _go_on(request)
    if form.is_bound and form.is_valid():
        record_authentication(request, request.user, method="password", reauthenticated=True)
        return _go_on(request)
    has_passkey = Authenticator.objects.filter(user=request.user, type=Authenticator.Type.WEBAUTHN).exists()
    context = {
        "form": form,
        "passkey": passkey,
        "next": request.POST.get("next", request.GET.get("next", "")),
        "passkey_options": {"request_options": begin_authentication(request.user)} if has_passkey else None,
    }
    return render(request, "accounts/again.html", context)


def _go_on(request: SignedInRequest) -> HttpResponse:
    request.session.cycle_key()
    wanted = request.POST.get("next", "")
    is_ours = url_has_allowed_host_and_scheme(wanted, allowed_hosts={request.get_host()})
    return redirect(wanted if is_ours else "account")


urls = [path("account/again/", again, name="sign-in-again")]
