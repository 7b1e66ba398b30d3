"""Mails in the outbox, and a mail server that does as it is told."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend

from compliance.checks.outbox import mail, put
from compliance.models import OutgoingMail
from roster.models import User


def mail_to(person: User, about: str = "", **said: Any) -> OutgoingMail:
    """One mail that waits for its first try."""
    about = about or f"checks from {OutgoingMail.objects.count() + 1}"
    put([mail(OutgoingMail.Kind.DIGEST, person, about, "Ferrowick: 2 on days ahead", "Two.")])
    OutgoingMail.objects.filter(to=person, about=about).update(**said)
    return OutgoingMail.objects.get(to=person, about=about)


class Server(BaseEmailBackend):
    """Takes mails, or raises what it was given: on opening, or for one address."""

    def __init__(self, at_open: Exception | None = None, **for_address: Exception) -> None:
        super().__init__()
        self.at_open, self.for_address = at_open, for_address
        self.took: list[EmailMessage] = []

    def open(self) -> bool:
        if self.at_open:
            raise self.at_open
        return True

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        for message in email_messages:
            if trouble := self.for_address.get(message.to[0].partition("@")[0]):
                raise trouble
            self.took.append(message)
        return len(email_messages)
