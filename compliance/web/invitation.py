"""The mail with a one-time link. Its subject names nobody."""

from __future__ import annotations

import logging

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string

from compliance.checks.mailtrouble import FAILURES, trouble_of
from compliance.web.welcome import welcome_link
from roster.models import User

logger = logging.getLogger(__name__)

PRINTED = "django.core.mail.backends.console.EmailBackend"


def send_link(person: User) -> bool:
    """Mail the person a link by which they set a password. Tells whether it went; printed, it did not.

    Not by the outbox: who invites waits for the answer, and hands the link over themselves when no mail goes.
    """
    if not person.email or settings.EMAIL_BACKEND == PRINTED:
        return False
    told = {
        "person": person,
        "address": welcome_link(person),
        "hours": settings.PASSWORD_RESET_TIMEOUT // 3600,
        "service": settings.SITE_ADDRESS,
    }
    message = EmailMessage("Your account", render_to_string("people/invitation.txt", told), to=[person.email])
    try:
        message.send()
    except FAILURES as error:
        logger.warning("The link for account %s was not mailed: %s", person.pk, trouble_of(error).words)
        return False
    return True
