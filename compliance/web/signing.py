"""Signing: whoever is signed in says once more who they are, since a screen may stand open."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth import logout
from django.core.exceptions import PermissionDenied, ValidationError

from compliance.web.signed_in import SignedInRequest
from roster.models import Verb
from roster.record.write import record

MOST_WRONG = 5
COUNT = "wrong passwords"


class SignedForm(forms.Form):
    """A form that counts only with a signature and the password of whoever is signed in.

    After some wrong passwords the person is signed out: whoever sits there is perhaps somebody else.
    """

    signature = forms.CharField(
        label="Signature",
        help_text="Your name and credential, as you sign.",
        max_length=120,
        error_messages={"required": "This is signed. Type your name and credential."},
    )
    password = forms.CharField(
        label="Your password, once more",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "A signature needs your password, so that nobody signs at a screen left open."},
    )

    def __init__(self, request: SignedInRequest, **kwargs: Any) -> None:
        super().__init__(request.POST if request.method == "POST" else None, label_suffix="", **kwargs)
        self.request = request

    def clean_password(self) -> str:
        """Refuse a wrong password; sign the person out when it was wrong too often."""
        password: str = self.cleaned_data["password"]
        if self.request.user.check_password(password):
            self.request.session.pop(COUNT, None)
            return password
        self._count_wrong()
        raise ValidationError("This is not your password. Nothing was signed; type it again.", code="password")

    def _count_wrong(self) -> None:
        session = self.request.session
        session[COUNT] = session.get(COUNT, 0) + 1
        record(Verb.REFUSED, "signature", by=self.request.user.pk, wrong=session[COUNT])
        if session[COUNT] >= MOST_WRONG:
            logout(self.request)
            raise PermissionDenied("The password was wrong too often, so you were signed out. Sign in and try again.")
