"""The first sign-in: an account without a password, and the one-time link by which its owner sets one."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.contrib.auth.forms import SetPasswordForm
from django.contrib.auth.tokens import default_token_generator
from django.contrib.auth.views import PasswordResetConfirmView
from django.contrib.messages.views import SuccessMessageMixin
from django.db import transaction
from django.urls import path, reverse, reverse_lazy
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from roster.accounts.people import make_account
from roster.models import Post, Role, User


@transaction.atomic
def invite(*, username: str, email: str, role: Role, **post: Any) -> User:
    """Make the account with its first post (`post`: site, classroom, child, first and last day) and no password.

    For whoever runs the service; `roster.accounts.people` is for administrators, who reach their sites alone. Raises
    ValidationError when the name is taken or the post is none that there can be.
    """
    user = make_account(username=username, email=email)
    given = Post(user=user, role=role, **post)
    given.full_clean()
    given.save()
    return user


def welcome_link(user: User) -> str:
    """Return the address at which the person sets a password: once, and before INVITATION_SECONDS have passed."""
    token = default_token_generator.make_token(user)
    uid = urlsafe_base64_encode(force_bytes(user.pk))
    return settings.SITE_ADDRESS + reverse("welcome", kwargs={"uidb64": uid, "token": token})


class PasswordForm(SetPasswordForm):
    """A password, twice. The page says once what it must be; an error says what it is not."""

    error_messages = {"password_mismatch": "The two passwords differ. Type the same one twice."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        for name, label in (("new_password1", "New password"), ("new_password2", "The same again")):
            self.fields[name].label = label
            self.fields[name].help_text = ""


class Welcome(SuccessMessageMixin, PasswordResetConfirmView):  # type: ignore[type-arg]
    """Set a password by a one-time link. A used, old or mistyped link gets a page that says what to do."""

    template_name = "welcome/welcome.html"
    form_class = PasswordForm
    success_url = reverse_lazy("sign-in")
    success_message = "The password is set. Sign in with it."
    reset_url_token = "now"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**kwargs) | {"person": self.user}


urls = [path("welcome/<uidb64>/<token>/", Welcome.as_view(), name="welcome")]
