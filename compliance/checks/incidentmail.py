"""Tell licensed staff and administrators that an incident was opened: by mail, without a name."""

from __future__ import annotations

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from compliance.checks.outbox import mail, put
from compliance.models import Incident, OutgoingMail
from roster.models import Post, User
from roster.permits import Act, Permit, Thing, holds


def readers(incident: Incident) -> list[User]:
    """Return who may read the incident today and can be reached, each once. One query."""
    today = incident.recorded_at.astimezone(incident.site.zone).date()
    posts = Post.objects.held_on(today).filter(user__is_active=True).exclude(user__email="")
    may_read = Permit(Thing.INCIDENT, Act.READ)
    rows = posts.select_related("user", "site", "classroom__site").order_by("user__username")
    return list(dict.fromkeys(post.user for post in rows if holds(post, may_read) and post.is_at(incident.site)))


def tell_of(incident: Incident) -> int:
    """Put the mails into the outbox, with the incident itself; return how many."""
    told = {
        "site": incident.site,
        "kind": incident.get_kind_display().lower(),
        "at": f"{incident.noticed_at.astimezone(incident.site.zone):%Y-%m-%d %H:%M}",
        "address": settings.SITE_ADDRESS + reverse("incident", args=[incident.pk]),
    }
    subject = f"{incident.site}: an incident was opened"
    mails = [
        mail(
            OutgoingMail.Kind.INCIDENT,
            person,
            f"incident {incident.pk}",
            subject,
            render_to_string("incidents/opened.txt", {**told, "person": person}),
            site=incident.site,
        )
        for person in readers(incident)
    ]
    put(mails)
    return len(mails)
