"""The digest: an e-mail of counts and links to those responsible, when a check found something new.

It names no child and no restriction: mail travels and is forwarded. The pages behind the links ask who is reading.
"""

from __future__ import annotations

import logging
from datetime import date
from smtplib import SMTPException
from typing import Any

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import Q, QuerySet
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.checks.known import News
from compliance.models import Referral, Run
from menus.models import Site
from roster.models import Post, Role, User

logger = logging.getLogger(__name__)

RESPONSIBLE = (Role.ADMINISTRATOR, Role.LICENSED, Role.MANAGER, Role.KITCHEN)
PAGES = {
    Role.ADMINISTRATOR: "exceptions",
    Role.LICENSED: "referrals",
    Role.MANAGER: "cycle-check",
    Role.KITCHEN: "cycle-check",
}


def send_digest(run: Run, found: News) -> dict[str, Any]:
    """Mail those responsible for the site when something is new, and return what the run keeps of it."""
    kept = {"changed": found.changed, "gone": found.gone, "ahead": found.ahead, "sent": 0, "failed": 0}
    if found:
        for person, role in recipients(run.site, run):
            kept["sent" if deliver(_message(run, found, person, role), person) else "failed"] += 1
    return kept


def recipients(site: Site, run: Run) -> list[tuple[User, Role]]:
    """Return who is responsible for the site on the day of the run and can be reached, with their first role there."""
    day = run.as_of.astimezone(site.zone).date()
    posts = list(_posts(site, day))
    people: dict[User, Role] = {}
    for role in RESPONSIBLE:
        for post in posts:
            if post.role == role:
                people.setdefault(post.user, role)
    return list(people.items())


def licensed_staff(site: Site, day: date) -> list[User]:
    """Return the licensed staff of the site on that day who can be reached, each once. One query."""
    return reachable(site, Role.LICENSED, day)


def reachable(site: Site, role: Role, day: date) -> list[User]:
    """Return who holds the role at the site on that day and can be reached, each once. One query."""
    return list(dict.fromkeys(post.user for post in _posts(site, day) if post.role == role))


def _posts(site: Site, day: date) -> QuerySet[Post]:
    held = Post.objects.held_on(day).filter(Q(site=site) | Q(site=None, classroom=None), role__in=RESPONSIBLE)
    return held.filter(user__is_active=True).exclude(user__email="").select_related("user").order_by("user__username")


def _message(run: Run, found: News, person: User, role: Role) -> EmailMessage:
    waiting = Referral.objects.waiting().filter(site=run.site)
    body = render_to_string(
        "digest/digest.txt",
        {
            "run": run,
            "as_of": f"{run.as_of.astimezone(run.site.zone):%Y-%m-%d %H:%M}",
            "found": found,
            "questions": len(set(waiting.values_list("subject", flat=True))),
            "children": len(set(waiting.values_list("child", flat=True))),
            "person": person,
            "role": role.label,
            "address": settings.SITE_ADDRESS + reverse(PAGES[role]),
        },
    )
    return EmailMessage(f"{run.site}: {_headline(found)}", body, to=[person.email])


def _headline(found: News) -> str:
    if found.changed:
        return f"{found.changed} new in what was checked before"
    if found.ahead:
        return f"{found.ahead} on days ahead"
    return f"{found.gone} no longer found"


def deliver(message: EmailMessage, person: User) -> bool:
    """Send a mail to that person and tell whether it went; a server that does not answer is logged and no more."""
    try:
        message.send()
    except (SMTPException, OSError):
        logger.exception(
            "The mail to account %s could not be sent. The check stands; mend EMAIL_HOST and its settings.", person.pk
        )
        return False
    return True
