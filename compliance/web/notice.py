"""A mail to the owner of an account when the way to sign in to it has changed. Its subject names nobody."""

from __future__ import annotations

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from compliance.checks.outbox import mail, put
from compliance.models import OutgoingMail
from roster.models import User


def tell_owner(user: User, what: str) -> None:
    """Mail the owner what was changed just now, in one sentence. Without an address nothing is sent."""
    if not user.email:
        return
    now = timezone.now()
    told = {
        "person": user,
        "what": what,
        "at": f"{now:%Y-%m-%d %H:%M} UTC",
        "address": settings.SITE_ADDRESS + reverse("account"),
    }
    body = render_to_string("account/notice.txt", told)
    put([mail(OutgoingMail.Kind.ACCOUNT, user, f"account at {now.isoformat()}", "Your account", body)])
