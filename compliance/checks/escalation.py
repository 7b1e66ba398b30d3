"""Escalate questions that are still open as their serving draws near: a mail that names neither child nor food."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.checks.outbox import mail, put
from compliance.checks.responsible import reachable
from compliance.models import Escalation, OutgoingMail, Referral, Step
from menus.models import Site
from roster.models import Role, User, Verb
from roster.record.write import record

PAUSE = timedelta(minutes=15)
"""How long licensed staff have at least before administrators are told: a treat is asked about minutes before it."""

ROLES = {Step.LICENSED: Role.LICENSED, Step.ADMINISTRATOR: Role.ADMINISTRATOR}
PAGES = {Step.LICENSED: "referrals", Step.ADMINISTRATOR: "exceptions"}


def escalate(site: Site, now: datetime) -> list[Escalation]:
    """Take every step that is due at the site, each once, and return the steps taken.

    The mails wait in the outbox, which tries each until it goes. Where nobody has an address, the next step follows at
    once.
    """
    taken: list[Escalation] = []
    for step in Step:
        if _due(site, step, now):
            taken += _take(site, step, now)
    return taken


@transaction.atomic
def _take(site: Site, step: Step, now: datetime) -> list[Escalation]:
    Site.objects.select_for_update(no_key=True).get(pk=site.pk)  # another process may be as far
    if not (due := _due(site, step, now)):
        return []
    people = reachable(site, ROLES[step], now.astimezone(site.zone).date())
    rows = [Escalation(referral=referral, step=step, told=len(people), recorded_at=now) for referral in due]
    taken = Escalation.objects.bulk_create(rows)
    put(_mail(site, step, due, person, now) for person in people)
    record(Verb.ASKED, "referrals", site=site, step=step.value, told=len(people), referrals=[each.pk for each in due])
    return taken


def _due(site: Site, step: Step, now: datetime) -> list[Referral]:
    """The questions for which the step is due and not taken. Two queries."""
    waiting = Referral.objects.waiting().filter(site=site).select_related("site").prefetch_related("escalations")
    return [each for each in waiting if _is_due(each, step, now)]


def _is_due(referral: Referral, step: Step, now: datetime) -> bool:
    taken = {Step(each.step): each for each in referral.escalations.all()}
    if step in taken:
        return False
    if step is Step.LICENSED:
        return now >= referral.due_at - timedelta(hours=settings.ESCALATE_HOURS)
    before = taken.get(Step.LICENSED)
    if before is None:
        return False
    if before.told == 0:
        return True
    soon = now >= referral.due_at - timedelta(hours=settings.ESCALATE_ADMINISTRATOR_HOURS)
    return soon and now >= before.recorded_at + PAUSE


def _mail(site: Site, step: Step, due: list[Referral], person: User, now: datetime) -> OutgoingMail:
    questions = {each.subject: each.due_at for each in sorted(due, key=lambda each: each.due_at, reverse=True)}
    first = min(questions.values())
    told = {
        "person": person,
        "site": site,
        "count": len(questions),
        "first": f"{first.astimezone(site.zone):%Y-%m-%d %H:%M}",
        "passed": first <= now,
        "to_answer": step is Step.LICENSED,
        "address": settings.SITE_ADDRESS + reverse(PAGES[step]),
    }
    many = "a question is open" if len(questions) == 1 else f"{len(questions)} questions are open"
    body = render_to_string("referrals/escalation.txt", told)
    about = f"{step} from {min(each.pk for each in due)}"
    return mail(OutgoingMail.Kind.ESCALATION, person, about, f"{site}: {many}", body, site=site)
