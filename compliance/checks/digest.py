"""The digest: one mail of counts and links to each person for whom checks found something new, whatever the sites.

It names no child and no restriction: mail travels and is forwarded. The pages behind the links ask who is reading.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Count
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from compliance.checks.news import News
from compliance.checks.outbox import mail, put
from compliance.checks.reminders import Reminder, reminders
from compliance.checks.responsible import RESPONSIBLE, responsible
from compliance.checks.slices import TRANSIENT
from compliance.models import OutgoingMail, Referral, Run
from roster.models import Role, User

logger = logging.getLogger(__name__)

PAGES = {
    Role.ADMINISTRATOR: "exceptions",
    Role.LICENSED: "referrals",
    Role.MANAGER: "cycle-check",
    Role.KITCHEN: "cycle-check",
}
LATE = timedelta(hours=3)
"""So long after its end a check is told by itself, when whoever should have told it, such as a night's end, did not."""
TOO_LATE = timedelta(days=2)


@dataclass(frozen=True, slots=True)
class Line:
    """What there is to tell of one site."""

    run: Run
    found: News
    questions: int
    children: int
    reminder: Reminder | None

    @property
    def as_of(self) -> str:
        """The moment as of which it was checked, on the site's clock."""
        return f"{self.run.as_of.astimezone(self.run.site.zone):%Y-%m-%d %H:%M}"


@transaction.atomic
def send_for(runs: Iterable[Run]) -> int:
    """Put one mail into the outbox for each person whom something in these checks concerns; return how many.

    A check is told once, whoever asks for it again. Ten queries, however many sites; where nothing is new, fewer.
    """
    wanted = [run.pk for run in runs]
    ours = Run.objects.select_for_update(of=("self",)).complete().filter(pk__in=wanted, told_at=None)
    told = list(ours.select_related("site").defer("inputs", "sums").order_by("as_of", "pk"))
    lines = _lines(told)
    mails = list(_mails(lines)) if lines else []
    put(mails)
    Run.objects.filter(pk__in=[run.pk for run in told]).update(told_at=timezone.now())
    return len(mails)


def tell_of(runs: Iterable[Run]) -> None:
    """Do what `send_for` does, for those whose own work a mail that cannot be written must not undo.

    It is logged then, and tried again by `send_late`. Raises only what tells that the database is away.
    """
    try:
        send_for(runs)
    except TRANSIENT:
        raise
    except Exception:
        logger.exception("The mails about checks could not be written.")


def send_late(now: datetime) -> int:
    """Tell the checks that nobody told: the process died between the check and the mail. Returns how many mails."""
    ended = Run.objects.complete().filter(finished_at__range=(now - TOO_LATE, now - LATE), told_at=None)
    return send_for(ended.only("pk"))


def _lines(runs: list[Run]) -> dict[int, Line]:
    """What is to be told, by site; of a site checked several times, all that was found, by its newest check."""
    found: dict[int, News] = {}
    for run in runs:
        found[run.site_id] = found.get(run.site_id, News()) + News(**run.counts.get("digest", {}))
    newest = {run.site_id: run for run in runs}
    near = reminders({run.site_id: run for run in runs if run.trigger == Run.Trigger.NIGHT}.values())
    telling = [site for site in newest if found[site] or site in near]
    waiting = _waiting(telling)
    return {
        site: Line(newest[site], found[site], *waiting.get(site, (0, 0)), near.get(site))
        for site in sorted(telling, key=lambda site: newest[site].site.name)
    }


def _waiting(sites: list[int]) -> dict[int, tuple[int, int]]:
    """How many questions wait at each site, and about how many children."""
    waiting = Referral.objects.waiting().filter(site__in=sites).order_by().values_list("site")
    counted = waiting.annotate(Count("subject", distinct=True), Count("child", distinct=True))
    return {site: (questions, children) for site, questions, children in counted}


def _mails(lines: dict[int, Line]) -> Iterator[OutgoingMail]:
    days = {line.run.site: line.run.as_of.astimezone(line.run.site.zone).date() for line in lines.values()}
    about = f"checks from {min(line.run.pk for line in lines.values())}"
    for person, roles in responsible(days).items():
        news = [line for site, line in lines.items() if line.found and site in roles]
        near = [line.reminder for site, line in lines.items() if line.reminder and Role.LICENSED in roles.get(site, ())]
        if news or near:
            yield _mail(person, about, news, near, {each for held in roles.values() for each in held[:1]})


def _mail(person: User, about: str, news: list[Line], near: list[Reminder], roles: set[Role]) -> OutgoingMail:
    sites = {line.run.site for line in news} | {each.site for each in near}
    links = [(role.label, settings.SITE_ADDRESS + reverse(PAGES[role])) for role in RESPONSIBLE if role in roles]
    body = render_to_string(
        "digest/digest.txt",
        {"person": person, "news": news, "near": near, "links": links, "due": settings.SITE_ADDRESS + reverse("due")},
    )
    where = str(next(iter(sites))) if len(sites) == 1 else f"{len(sites)} sites"
    site, run = (next(iter(sites)), news[0].run if news else None) if len(sites) == 1 else (None, None)
    return mail(OutgoingMail.Kind.DIGEST, person, about, f"{where}: {_headline(news, near)}", body, site=site, run=run)


def _headline(news: list[Line], near: list[Reminder]) -> str:
    said = []
    if news:
        found = sum((line.found for line in news), News())
        if found.changed:
            said.append(f"{found.changed} new in what was checked before")
        elif found.ahead:
            said.append(f"{found.ahead} on days ahead")
        else:
            said.append(f"{found.gone} no longer found")
    if near:
        said.append("statements to renew")
    return "; ".join(said)
