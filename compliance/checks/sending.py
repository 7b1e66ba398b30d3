"""Send what lies in the outbox. A server that is away, or refuses, is noted on the mail; nothing else fails by it."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from email.utils import parseaddr

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.core.mail.backends.base import BaseEmailBackend

from compliance.checks.mailtrouble import FAILURES, NO_ADDRESS, Trouble, trouble_of
from compliance.checks.outbox import claim, put_off, sent
from compliance.models import OutgoingMail

logger = logging.getLogger(__name__)

AT_ONCE = 500
"""So many mails are sent by one task; the rest waits for the next."""


@dataclass(slots=True)
class Sent:
    """What became of the mails that were due."""

    sent: int = 0
    failed: int = 0
    given_up: int = 0


def send_due(now: datetime) -> Sent:
    """Send the mails that are due, the oldest first, over one connection, and return what became of them.

    Where the server itself is in trouble, all that is due waits: one mail after the other would only fail as well.
    """
    done = Sent()
    due = list(OutgoingMail.objects.due(now).values_list("pk", flat=True)[:AT_ONCE])
    if not due:
        return done
    server = get_connection()
    of_server = _open(server)
    for mail in _claimed(due, now):
        trouble = of_server or _try(mail, server)
        if trouble:
            of_server = trouble if trouble.of_server else None
            _note(mail, trouble, now, done)
        else:
            sent(mail, now)
            done.sent += 1
    with suppress(*FAILURES):
        server.close()
    return done


def _open(server: BaseEmailBackend) -> Trouble | None:
    try:
        server.open()
    except FAILURES as error:
        return trouble_of(error)
    return None


def _claimed(due: list[int], now: datetime) -> Iterator[OutgoingMail]:
    return (mail for pk in due if (mail := claim(pk, now)))


def _try(mail: OutgoingMail, server: BaseEmailBackend) -> Trouble | None:
    """Send one mail, and return why it did not go."""
    if not (mail.to.email and mail.to.is_active):
        return NO_ADDRESS
    try:
        server.send_messages([_message(mail)])
    except FAILURES as error:
        return trouble_of(error)
    return None


def _note(mail: OutgoingMail, trouble: Trouble, now: datetime, done: Sent) -> None:
    if put_off(mail, trouble.words, now, for_good=trouble.for_good):
        done.given_up += 1
        logger.error("Mail %s to account %s is given up: %s", mail.pk, mail.to_id, trouble.words)
    else:
        done.failed += 1
        logger.info("Mail %s to account %s is tried again: %s", mail.pk, mail.to_id, trouble.words)


def _message(mail: OutgoingMail) -> EmailMessage:
    host = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2] or "localhost"
    headers = {
        # The same at every try, so that a mail that came twice after all shows as one.
        "Message-ID": f"<mail.{mail.pk}.{mail.made_at:%Y%m%d%H%M%S%f}@{host}>",
        "Auto-Submitted": "auto-generated",  # asks for no automatic answer (RFC 3834, from memory)
    }
    return EmailMessage(mail.subject, mail.body, to=[mail.to.email], headers=headers)
