"""Signing in and out."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import path


class SignInForm(AuthenticationForm):
    """Name and password, with errors that say how to mend them."""

    error_messages = {
        "invalid_login": (
            "This name and password do not belong together. Both tell capital letters apart; type them again, or ask "
            "an administrator for a new link."
        ),
        "inactive": "This account is closed. Ask an administrator to open it again.",
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.fields["username"].label = "Name"
        self.fields["username"].widget.attrs["autocapitalize"] = "none"
        self.fields["password"].widget = forms.PasswordInput(attrs={"autocomplete": "current-password"})


sign_in = LoginView.as_view(
    template_name="registration/sign-in.html", authentication_form=SignInForm, redirect_authenticated_user=True
)

urls = [
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
]
