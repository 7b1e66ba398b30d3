"""Mail on its way, for administrators: what waits, what was given up and why, and trying it again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib import messages
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.outbox import try_again
from compliance.models import OutgoingMail
from compliance.models.mail import OutgoingMailQuerySet
from compliance.operations.timeleft import in_words
from compliance.web.signed_in import SignedInRequest
from roster.accounts.reach import Reach
from roster.models import Verb
from roster.record.write import record

MOST_SHOWN = 50
"""When more than that waits, the fault is not with the single mails."""


@dataclass(frozen=True, slots=True)
class Line:
    """One mail in words. Its text is shown to nobody but whom it is for."""

    pk: int
    account: int
    person: str
    what: str
    made: str
    tries: str
    error: str
    next: str

    @classmethod
    def of(cls, mail: OutgoingMail, now: datetime) -> Line:
        """Return it as the page says it."""
        tries = {0: "not tried yet", 1: "tried once"}.get(mail.attempts, f"tried {mail.attempts} times")
        soon = mail.next_try_at <= now + timedelta(minutes=1)
        return cls(
            pk=mail.pk,
            account=mail.to_id,
            person=str(mail.to),
            what=mail.get_kind_display(),
            made=f"{in_words(now - mail.made_at)} ago",
            tries=tries,
            error=mail.error,
            next="within a minute" if soon else f"in {in_words(mail.next_try_at - now)}",
        )


@require_safe
def mail(request: SignedInRequest) -> HttpResponse:
    """Show what was given up, then what waits, the oldest first. Seven queries, however many there are."""
    now, theirs = timezone.now(), _theirs(request)
    waiting, given_up = theirs.waiting(), theirs.given_up()
    oldest = waiting.first()
    context = {
        "waiting": [Line.of(each, now) for each in waiting[:MOST_SHOWN]],
        "waiting_count": waiting.count(),
        "oldest": in_words(now - oldest.made_at) if oldest else "",
        "given_up": [Line.of(each, now) for each in given_up[:MOST_SHOWN]],
        "given_up_count": given_up.count(),
        "sent": theirs.filter(sent_at__gte=now - timedelta(days=1)).count(),
    }
    return render(request, "mail/mail.html", context)


@require_POST
def mail_again(request: SignedInRequest, pk: int) -> HttpResponse:
    """Have one mail tried now."""
    chosen = get_object_or_404(_theirs(request), pk=pk)
    return _tried(request, OutgoingMail.objects.filter(pk=chosen.pk))


@require_POST
def mail_all_again(request: SignedInRequest) -> HttpResponse:
    """Have all that has not gone tried now."""
    return _tried(request, OutgoingMail.objects.filter(pk__in=_theirs(request).filter(sent_at=None).values("pk")))


@transaction.atomic
def _tried(request: SignedInRequest, mails: QuerySet[OutgoingMail]) -> HttpResponse:
    count = try_again(mails, timezone.now())
    if count:
        record(Verb.ASKED, "mail tried again", by=request.user.pk, mails=count)
        messages.success(request, f"{count} mail{'s' if count > 1 else ''} will be tried within a minute.")
    else:
        messages.info(request, "Nothing waits any more: it has gone meanwhile. Nothing was sent twice.")
    return redirect("mail")


def _theirs(request: SignedInRequest) -> OutgoingMailQuerySet:
    """The mails to people within the administrator's reach."""
    reach = Reach(request.user)
    every = OutgoingMail.objects.select_related("to")
    return every if reach.everywhere else every.filter(to__in=reach.people)


urls = [
    path("mail/", mail, name="mail"),
    path("mail/again/", mail_all_again, name="mail-all-again"),
    path("mail/<int:pk>/again/", mail_again, name="mail-again"),
]
