"""The sign-in history of each account, for its owner to look through."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from menus.models.facts import Fact


class Way(models.TextChoices):
    """By what somebody signed in, or tried to."""

    PASSWORD = "password", "Password"
    CODE = "code", "Password and code"
    PASSKEY = "passkey", "Password and passkey"
    RECOVERY = "recovery", "Password and recovery code"
    SSO = "sso", "Single sign-on"
    SSO_CODE = "sso-code", "Single sign-on and code"
    SSO_PASSKEY = "sso-passkey", "Single sign-on and passkey"
    SSO_RECOVERY = "sso-recovery", "Single sign-on and recovery code"


class SignIn(Fact):
    """One sign-in, or one try that failed, under one account's name.

    It serves the owner of the account alone and is kept short: of the address only the network, of the browser only
    its family. What is older than SIGN_IN_KEPT_DAYS is removed at the owner's next sign-in.
    """

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sign_ins")
    way = models.CharField(max_length=12, choices=Way.choices)
    came_in = models.BooleanField()
    locked = models.BooleanField(default=False, help_text="Refused unread, since too many tries had failed before.")
    network = models.CharField(max_length=45, blank=True, help_text="The address without its last part.")
    browser = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["-recorded_at", "-pk"]
        indexes = [models.Index(fields=["user", "recorded_at"], name="sign_in_by_user")]

    def __str__(self) -> str:
        return f"sign-in {self.pk}"
