"""Signing in and out: name and password, then the second factor where there is one."""

from __future__ import annotations

from typing import Any

from allauth.account.adapter import get_adapter
from allauth.account.forms import LoginForm
from allauth.account.internal.stagekit import clear_login
from allauth.account.models import Login
from allauth.account.views import LoginView
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.base.internal.flows import check_rate_limit
from allauth.mfa.base.views import AuthenticateView
from allauth.mfa.models import Authenticator
from django import forms
from django.conf import settings
from django.contrib.auth.signals import user_login_failed
from django.contrib.auth.views import LogoutView
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from django.urls import path

from compliance.web.accounts_adapter import WRONG_CODE
from roster.accounts.codes import take_code, take_recovery_code
from roster.accounts.locks import is_locked
from roster.models import User, Way


class SignInForm(LoginForm):
    """Name and password. The answer to a wrong password is that to an unknown name."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.fields = {
            "username": forms.CharField(
                label="Name",
                max_length=150,
                widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none", "autofocus": True}),
                error_messages={"required": "Type the name that you were invited with."},
            ),
            "password": forms.CharField(
                strip=False,
                widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
                error_messages={"required": "Type your password."},
            ),
        }

    def user_credentials(self) -> dict[str, str]:
        """What axes and allauth are asked about."""
        return {name: self.cleaned_data[name] for name in ("username", "password")}

    def clean(self) -> dict[str, Any]:
        """Find the account that name and password open."""
        if self.errors:
            return self.cleaned_data
        self.user = get_adapter().authenticate(self.request, **self.user_credentials())
        if self.user is None:
            raise get_adapter().validation_error("username_password_mismatch")
        self._login = Login(user=self.user)
        return self.cleaned_data


class SignIn(LoginView):
    """The sign-in page."""

    form_class = SignInForm
    template_name = "registration/sign-in.html"

    def _redirect_to_pending_stage(self, request: HttpRequest, stage: Any) -> None:
        """Begin anew: whoever comes back here from the second step means to be somebody else."""
        clear_login(request)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        sso = settings.SSO_NAME if settings.SOCIALACCOUNT_PROVIDERS else ""
        asked = self.request.POST.get("next", self.request.GET.get("next", ""))
        return super().get_context_data(**kwargs) | {"next": asked, "sso": sso}


class CodeForm(AuthenticateForm):
    """A code of the app, or a recovery code. Each wrong one counts towards the lock, as a wrong password does."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.fields["code"] = forms.CharField(
            label="Code from your app, or a recovery code",
            max_length=40,
            widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric", "autofocus": True}),
            error_messages={"required": "Type the code that your app shows now."},
        )

    def clean_code(self) -> str:
        """Take the code, once."""
        request, name = get_adapter().request, self.user.get_username()
        if is_locked(request, name):
            raise get_adapter().validation_error("too_many_login_attempts")
        no_longer_counted = check_rate_limit(self.user)
        code: str = self.cleaned_data["code"]
        taken = take_code(self.user, code) or take_recovery_code(self.user, code)
        if taken is None:
            said = {"username": name, "way": Way.CODE}
            user_login_failed.send(sender=User, credentials=said, request=request)
            raise ValidationError(WRONG_CODE, code="code")
        no_longer_counted()
        self.authenticator = taken
        return code


class SecondStep(AuthenticateView):
    """Ask for the second factor of somebody whose password was right. Nobody is signed in before that."""

    form_class = CodeForm
    template_name = "accounts/second-step.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        kinds = set(Authenticator.objects.filter(user=self.stage.login.user).values_list("type", flat=True))
        return super().get_context_data(**kwargs) | {
            "has_codes": Authenticator.Type.TOTP in kinds,
            "has_passkey": Authenticator.Type.WEBAUTHN in kinds,
        }


sign_in = SignIn.as_view()

urls = [
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-in/", sign_in, name="account_login"),  # what allauth calls it
    path("sign-in/second-step/", SecondStep.as_view(), name="mfa_authenticate"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
]
