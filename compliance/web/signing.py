"""Signing: whoever is signed in says once more who they are, since a screen may stand open."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.web.again import COUNT, refuse_wrong
from compliance.web.identity import is_theirs, what_to_type
from compliance.web.signed_in import SignedInRequest


class SignedForm(forms.Form):
    """A form that counts only with a signature and the password of whoever is signed in, or a code of their app.

    Both are looked at once all the rest is in order: a code counts once, and would be lost on a form that is not.
    After some wrong ones the person is signed out: whoever sits there is perhaps somebody else.
    """

    signature = forms.CharField(
        label="Signature",
        help_text="Your name and credential, as you sign.",
        max_length=120,
        error_messages={"required": "This is signed. Type your name and credential."},
    )
    password = forms.CharField(
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "A signature needs your password, so that nobody signs at a screen left open."},
    )

    def __init__(self, request: SignedInRequest, **kwargs: Any) -> None:
        kwargs.setdefault("data", request.POST if request.method == "POST" else None)
        super().__init__(label_suffix="", **kwargs)
        self.request = request
        self.fields["password"].label = what_to_type(request.user)

    def full_clean(self) -> None:
        """Refuse a wrong password or code; sign the person out when it was wrong too often."""
        super().full_clean()
        if not self.is_bound or self.errors:
            return
        if is_theirs(self.request.user, self.cleaned_data["password"]):
            self.request.session.pop(COUNT, None)
            return
        refuse_wrong(self.request, "signature")
        self.add_error("password", ValidationError(_wrong(self.request.user.has_usable_password()), code="password"))


def _wrong(has_password: bool) -> str:
    if has_password:
        return "This is not your password, nor the code that your app shows now. Nothing was signed; type it again."
    return (
        "This is not the code that your app shows now, or it was used already. Nothing was signed; wait for the next."
    )
