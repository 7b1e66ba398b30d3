"""Your account: what you hold here, how you sign in, and who has signed in, or tried to, under your name."""

from __future__ import annotations

from typing import Any

from allauth.mfa.models import Authenticator
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import PasswordChangeForm
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from compliance.config.session_end import BEGAN
from compliance.web.again import COUNT, refuse_wrong
from compliance.web.notice import tell_owner
from compliance.web.signed_in import SignedInRequest
from roster.accounts.factors import FACTORS, end_sessions, must_have_factor
from roster.models import SignIn
from roster.models.action import Verb
from roster.record.write import record

PER_PAGE = 25


@require_safe
def account(request: SignedInRequest) -> HttpResponse:
    """Show the account of whoever is signed in, with its history."""
    kept = Authenticator.objects.filter(user=request.user).order_by("created_at")
    return render(
        request,
        "account/account.html",
        {
            "posts": request.posts,
            "factors": [each for each in kept if each.type in FACTORS],
            "unused": _unused(kept),
            "must_have": must_have_factor(request.user, request.posts),
            "history": Paginator(SignIn.objects.filter(user=request.user), PER_PAGE).get_page(request.GET.get("page")),
        },
    )


def _unused(kept: Any) -> int | None:
    """How many recovery codes are left; None when there never were any."""
    codes = next((each for each in kept if each.type == Authenticator.Type.RECOVERY_CODES), None)
    return len(codes.wrap().get_unused_codes()) if codes else None


class ChangeForm(PasswordChangeForm):  # type: ignore[type-arg]
    """The password until now, and a new one twice."""

    error_messages = {"password_mismatch": "The two passwords differ. Type the same one twice."}

    def __init__(self, request: SignedInRequest) -> None:
        super().__init__(request.user, request.POST if request.method == "POST" else None)
        self.request, self.label_suffix = request, ""
        labels = {"old_password": "Your password until now", "new_password1": "New password"}
        for name, label in (*labels.items(), ("new_password2", "The same again")):
            self.fields[name].label, self.fields[name].help_text = label, ""

    def clean_old_password(self) -> str:
        """Refuse a wrong one; sign the person out when it was wrong too often."""
        typed: str = self.cleaned_data["old_password"]
        if not self.user.check_password(typed):
            refuse_wrong(self.request, "change of password")
            raise ValidationError("This is not your password until now. Type it again.", code="password")
        self.request.session.pop(COUNT, None)
        return typed


@sensitive_post_parameters()
@require_http_methods(["GET", "POST"])
def password(request: SignedInRequest) -> HttpResponse:
    """Change the password, and sign the person out everywhere else."""
    if not request.user.has_usable_password():
        raise Http404("Your account has no password: you sign in another way.")
    form = ChangeForm(request)
    if request.method == "POST" and form.is_valid():
        form.save()
        update_session_auth_hash(request, form.user)  # a new key for this session; no other one fits any longer
        tell_owner(request.user, "the password of your account was changed.")
        messages.success(request, "The password is changed. Wherever else you were signed in, you are no longer.")
        return redirect("account")
    return render(request, "account/password.html", {"form": form})


@require_POST
def elsewhere(request: SignedInRequest) -> HttpResponse:
    """End every session of the person but this one."""
    end_sessions(request.user)
    request.session.cycle_key()
    request.session[BEGAN] = timezone.now().timestamp()
    record(Verb.SIGNED_OUT, request.user, by=request.user.pk, where="everywhere else")
    messages.success(request, "Wherever else you were signed in, you are no longer.")
    return redirect("account")


urls = [
    path("account/", account, name="account"),
    path("account/password/", password, name="account-password"),
    path("account/elsewhere/", elsewhere, name="account-elsewhere"),
]
