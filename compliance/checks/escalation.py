"""Escalate questions that are still open as their serving draws near: a mail that names neither child nor food."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.checks.digest import deliver, reachable
from compliance.models import Escalation, Referral, Step
from menus.models import Site
from roster.models import Role, User, Verb
from roster.record.write import record

PAUSE = timedelta(minutes=15)
"""How long licensed staff have at least before administrators are told: a treat is asked about minutes before it."""

ROLES = {Step.LICENSED: Role.LICENSED, Step.ADMINISTRATOR: Role.ADMINISTRATOR}
PAGES = {Step.LICENSED: "referrals", Step.ADMINISTRATOR: "exceptions"}


def escalate(site: Site, now: datetime) -> list[Escalation]:
    """Take every step that is due at the site, each once, and return the steps taken.

    A mail that reached nobody is tried again the next time. Where nobody has an address, the next step follows at once.
    """
    taken: list[Escalation] = []
    for step in Step:
        due = _due(site, step, now)
        if due and (told := _tell(site, step, due, now)) is not None:
            rows = [Escalation(referral=referral, step=step, told=told, recorded_at=now) for referral in due]
            taken += Escalation.objects.bulk_create(rows, ignore_conflicts=True)  # another process may be as far
            record(Verb.ASKED, "referrals", site=site, step=step.value, told=told, referrals=[each.pk for each in due])
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


def _tell(site: Site, step: Step, due: list[Referral], now: datetime) -> int | None:
    """Mail the people of the step, and return how many; None when there are some and none of the mails went."""
    people = reachable(site, ROLES[step], now.astimezone(site.zone).date())
    told = sum(deliver(_message(site, step, due, person, now), person) for person in people)
    return None if people and not told else told


def _message(site: Site, step: Step, due: Iterable[Referral], person: User, now: datetime) -> EmailMessage:
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
    return EmailMessage(f"{site}: {many}", render_to_string("referrals/escalation.txt", told), to=[person.email])
