"""Setting up a second factor: codes from an app, passkeys, and recovery codes for when both are lost."""

from __future__ import annotations

from typing import Any

from allauth.account.decorators import reauthentication_required
from allauth.mfa.adapter import get_adapter
from allauth.mfa.base.internal.flows import delete_and_cleanup
from allauth.mfa.models import Authenticator
from allauth.mfa.recovery_codes.views import GenerateRecoveryCodesView, ViewRecoveryCodesView
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.totp.views import ActivateTOTPView
from allauth.mfa.webauthn.forms import AddWebAuthnForm
from allauth.mfa.webauthn.views import AddWebAuthnView
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse, reverse_lazy
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.notice import tell_owner
from compliance.web.signed_in import SignedInRequest
from roster.accounts.codes import has_codes, take_code
from roster.accounts.factors import FACTORS, has_factor, must_have_factor


def is_wanting(request: SignedInRequest) -> bool:
    """Tell whether the person must set one up before anything else: the menu would lead nowhere. Two queries."""
    return must_have_factor(request.user, request.posts) and not has_factor(request.user)


@require_safe
def second_factor(request: SignedInRequest) -> HttpResponse:
    """Offer the kinds of second factor, and say whether the person must have one."""
    context = {
        "has_one": has_factor(request.user),
        "has_codes": has_codes(request.user),
        "without_menu": is_wanting(request),
    }
    return render(request, "factor/second-factor.html", context)


class CodesForm(ActivateTOTPForm):
    """The first code that the app shows, to see that it works."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.fields["code"] = forms.CharField(
            label="The code that the app shows now",
            max_length=12,
            widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "inputmode": "numeric"}),
            error_messages={"required": "Type the six digits that the app shows now."},
        )

    def clean_code(self) -> str:
        self.cleaned_data["code"] = self.cleaned_data["code"].replace(" ", "")
        return str(super().clean_code())


class CodesSetUp(ActivateTOTPView):
    """Show the secret as a picture and as text, and take the first code."""

    form_class = CodesForm
    template_name = "factor/codes.html"

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if has_codes(request.user):  # type: ignore[arg-type]  # nobody else comes here
            messages.info(self.request, "You have an app for codes already. Remove it first to set up another one.")
            return redirect("account")
        return super().dispatch(request, *args, **kwargs)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        secret = context["form"].secret
        return context | {
            "secret": " ".join(secret[at : at + 4] for at in range(0, len(secret), 4)),
            "without_menu": is_wanting(self.request),
        }

    def form_valid(self, form: Any) -> HttpResponse:
        done = super().form_valid(form)
        self.request.session.cycle_key()  # whoever held the key of the session before holds it no longer
        tell_owner(form.user, "an app for codes was set up as the second factor of your account.")
        take_code(form.user, form.cleaned_data["code"])  # it was used by this, and counts no second time
        messages.success(self.request, "The app is set up. From now on a code of it is asked for when you sign in.")
        return done

    def get_success_url(self) -> str:
        return reverse("recovery-codes" if self.did_generate_recovery_codes else "account")


class PasskeyForm(AddWebAuthnForm):
    """The answer of the browser, and a name by which the person knows the passkey."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.fields["name"] = forms.CharField(
            label="What you call it",
            help_text="Such as: my phone, the key on my ring.",
            max_length=60,
            required=False,
        )


class PasskeyAdd(AddWebAuthnView):
    """Add a passkey."""

    form_class = PasskeyForm
    template_name = "factor/passkey.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs) | {
            "form": kwargs.get("form") or self.get_form(),
            "without_menu": is_wanting(self.request),
        }

    def form_valid(self, form: Any) -> HttpResponse:
        done = super().form_valid(form)
        self.request.session.cycle_key()
        tell_owner(form.user, "a passkey was set up for your account.")
        messages.success(self.request, "The passkey is set up. From now on it is asked for when you sign in.")
        return done

    def get_success_url(self) -> str:
        return reverse("recovery-codes" if self.did_generate_recovery_codes else "account")


class RecoveryCodes(ViewRecoveryCodesView):
    """Show the recovery codes, once."""

    template_name = "factor/recovery.html"


class RecoveryRenew(GenerateRecoveryCodesView):
    """Make new recovery codes; the old ones no longer work."""

    template_name = "factor/renew.html"
    success_url = reverse_lazy("recovery-codes")

    def form_valid(self, form: Any) -> HttpResponse:
        done: HttpResponse = super().form_valid(form)
        tell_owner(form.user, "new recovery codes were made for your account.")
        return done


@reauthentication_required(app="allauth.mfa")
@require_http_methods(["GET", "POST"])
def factor_remove(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take one second factor away, unless the person must have one and it is the last."""
    factor = get_object_or_404(Authenticator, pk=pk, user=request.user, type__in=FACTORS)
    may = get_adapter().can_delete_authenticator(factor)
    if request.method == "POST" and may:
        delete_and_cleanup(request, factor)
        request.session.cycle_key()
        tell_owner(request.user, "a second factor of your account was removed.")
        messages.success(request, "It is removed and opens nothing any more.")
        return redirect("account")
    context = {"factor": factor, "may": may}
    return render(request, "factor/remove.html", context)


urls = [
    path("account/second-factor/", second_factor, name="second-factor"),
    path("account/second-factor/codes/", CodesSetUp.as_view(), name="codes-set-up"),
    path("account/second-factor/passkey/", PasskeyAdd.as_view(), name="passkey-add"),
    path("account/second-factor/recovery/", RecoveryCodes.as_view(), name="recovery-codes"),
    path("account/second-factor/recovery/new/", RecoveryRenew.as_view(), name="recovery-renew"),
    path("account/second-factor/<int:pk>/remove/", factor_remove, name="factor-remove"),
]
