"""Reminders of statements that run out: a mail of counts to licensed staff as each date draws near."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.checks.children import children_at
from compliance.checks.digest import deliver, licensed_staff
from compliance.models import Run
from menus.models import Site
from roster.life.due import Due, Why, due
from roster.models import User
from roster.models.restriction import REMINDERS

THRESHOLDS = sorted([*(term.days for term in REMINDERS), 0], reverse=True)


def send_reminders(run: Run) -> dict[str, Any]:
    """Mail licensed staff what came as near as 60, 30, 7 days or ran out since the last night; return what is kept.

    A night that is repeated tells nothing twice; one that was missed is made up by the next. Does nothing after a
    check of another kind.
    """
    if run.trigger != Run.Trigger.NIGHT:
        return {}
    today = run.as_of.astimezone(run.site.zone).date()
    waiting = due(children_at(run.site, today, today), today, run.as_of)
    last = _last_told(run.site, before=run) or today - timedelta(days=1)
    near = [each for each in waiting if crossed(each, last)]
    people = licensed_staff(run.site, today) if near else []
    sent = [deliver(_message(run, person, near, waiting), person) for person in people]
    return {"day": today.isoformat(), "near": len(near), "sent": sum(sent), "failed": len(sent) - sum(sent)}


def crossed(each: Due, last: date) -> bool:
    """Tell whether it came within one of the terms after that day."""
    left = each.days_left
    if left is None:
        return False
    then = left + (each.day - last).days
    return any(left <= threshold < then for threshold in THRESHOLDS)


def _last_told(site: Site, before: Run) -> date | None:
    runs = Run.objects.complete().filter(site=site, counts__has_key="reminders").exclude(pk=before.pk)
    days = [run.counts["reminders"].get("day") for run in runs.order_by("-as_of")[:20]]
    return next((date.fromisoformat(day) for day in days if day), None)


def _message(run: Run, person: User, near: list[Due], waiting: list[Due]) -> EmailMessage:
    told = {
        "person": person,
        "site": run.site,
        "near": len(near),
        "expired": sum(each.why == Why.EXPIRED for each in near),
        "waiting": len(waiting),
        "address": settings.SITE_ADDRESS + reverse("due"),
    }
    return EmailMessage(
        f"{run.site}: statements to renew", render_to_string("due/reminder.txt", told), to=[person.email]
    )
