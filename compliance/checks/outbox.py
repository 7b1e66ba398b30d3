"""The outbox: mail is put here with what it tells of, and sent afterwards, again and again until it goes.

A mail that is put in a transaction stands or falls with it. Who sends claims each mail first, so that two senders never
send one twice; a sender that dies leaves its claim to run out.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from compliance.models import OutgoingMail, Run
from menus.models import Site
from roster.models import User

LEASE = timedelta(minutes=10)
"""How long one try may take. Longer than all the answers of a slow server, each of which may take EMAIL_TIMEOUT."""
SHORTEST, LONGEST = timedelta(minutes=1), timedelta(hours=12)
TRIES = 14
"""After so many a mail is given up, two days and five hours after the first: pauses double, up to the longest."""


def mail(
    kind: OutgoingMail.Kind,
    to: User,
    about: str,
    subject: str,
    body: str,
    *,
    site: Site | None = None,
    run: Run | None = None,
) -> OutgoingMail:
    """Return a mail to be put. `about`: what it tells of; a person is told the same once. The subject names nobody."""
    now = timezone.now()
    line = " ".join(subject.split())[:200]  # a line break in the name of a site would end the header
    return OutgoingMail(
        kind=kind, to=to, about=about, site=site, run=run, subject=line, body=body, made_at=now, next_try_at=now
    )


def put(mails: Iterable[OutgoingMail]) -> None:
    """Keep the mails, and have them sent once the transaction is through. What was put before is left out."""
    rows = list(mails)
    if rows:
        OutgoingMail.objects.bulk_create(rows, ignore_conflicts=True, batch_size=500)
        queue_sending()


def claim(pk: int, now: datetime) -> OutgoingMail | None:
    """Take a mail that is due, so that nobody else does; None when somebody has, or it is settled."""
    taken = OutgoingMail.objects.due(now).filter(pk=pk).update(attempts=F("attempts") + 1, next_try_at=now + LEASE)
    return OutgoingMail.objects.select_related("to").get(pk=pk) if taken else None


def sent(mail: OutgoingMail, now: datetime) -> None:
    """Note that it went. Its text has done its work and is emptied."""
    OutgoingMail.objects.waiting().filter(pk=mail.pk).update(sent_at=now, subject="", body="", error="")


def put_off(mail: OutgoingMail, error: str, now: datetime, *, for_good: bool = False) -> bool:
    """Note why it did not go and when it is tried again; tell whether it is given up, for good or after many tries."""
    if for_good or mail.attempts >= TRIES:
        _ours(mail).update(given_up_at=now, error=error)
        return True
    _ours(mail).update(next_try_at=now + pause_after(mail.attempts), error=error)
    return False


def pause_after(tries: int) -> timedelta:
    """Return how long to wait after so many tries that failed."""
    return min(SHORTEST * (1 << tries - 1), LONGEST)


def try_again(mails: QuerySet[OutgoingMail], now: datetime) -> int:
    """Have these tried now and as often as a new mail, those given up too. Returns how many."""
    count = mails.filter(sent_at=None).update(next_try_at=now, attempts=0, given_up_at=None)
    if count:
        queue_sending()
    return count


def queue_sending() -> None:
    """Have the queue send what is due, once the transaction is through; without a queue the next minute's does."""
    if not any(hook is _send for _, hook, _ in transaction.get_connection().run_on_commit):
        transaction.on_commit(_send, robust=True)


def _send() -> None:
    from compliance.tasks import send_mail  # the task's module imports this one

    send_mail.delay()


def _ours(mail: OutgoingMail) -> QuerySet[OutgoingMail]:
    """The mail, as long as nobody has claimed it since: one who was slow must not undo what came of a later try."""
    return OutgoingMail.objects.waiting().filter(pk=mail.pk, attempts=mail.attempts)
