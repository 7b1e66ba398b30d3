"""What was on record around an incident, as plain values that are frozen with it.

It covers the day of the incident and the day before, at the child's site. What the child really ate, nobody recorded:
it is what was planned, checked and handed out to the class.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from compliance.checks.gathered_deeds import clock, event_plain, kitchen_events, span, treats, washings
from compliance.checks.gathered_servings import servings
from compliance.models import Run
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.models import Allowance, Child, Enrolment, Restriction

Plain = dict[str, Any]


def gather(child: Child, site: Site, at: datetime, now: datetime) -> Plain:
    """Return what is on record now of that moment's day and the day before.

    Labels and recipes are those that were on record at the moment itself; what was recorded late is in it all the same,
    and says so. The number of queries does not grow with the menu.
    """
    day = at.astimezone(site.zone).date()
    first = day - timedelta(days=1)
    rooms = [each.classroom for each in _stays(child, site, first, day)]
    events, then = kitchen_events(site, first, day), _then(at, now)
    return {
        "gathered_at": now.isoformat(),
        "first": first.isoformat(),
        "day": day.isoformat(),
        "classes": [{"id": room.pk, "name": room.name} for room in rooms],
        "restrictions": _restrictions(child, day, then),
        "allowances": _allowances(child, first, day, then),
        "servings": servings(child, site, first, day, events, then),
        "treats": treats(child, rooms, site, first, day),
        "table": washings(rooms, site, first, day),
        "kitchen": [event_plain(event, site) for event in events],
        "runs": _runs(site, first, day),
    }


def _then(at: datetime, now: datetime) -> datetime:
    """A typed time knows the minute: what was recorded within it was there."""
    is_typed = at == at.replace(second=0, microsecond=0)
    return min(now, at + timedelta(minutes=1)) if is_typed else at


def _stays(child: Child, site: Site, first: date, last: date) -> list[Enrolment]:
    stays = Enrolment.objects.during(first, last).filter(child=child, classroom__site=site)
    return list(stays.select_related("classroom").order_by("starts_on"))


def _restrictions(child: Child, day: date, at: datetime) -> list[Plain]:
    rows = Restriction.objects.standing(day, day, at).filter(child=child).select_related("review")
    return [
        {
            "id": row.pk,
            "version": row.number,
            "substance": row.substance,
            "what": Catalogue.load().get(row.substance).name if row.substance else row.told,
            "reach": row.get_strictness_display(),
            "state": row.state_on(day).label,
            "statement": row.statement_id,
        }
        for row in rows.order_by("pk")
        if row.holds_on(day)
    ]


def _allowances(child: Child, first: date, last: date, at: datetime) -> list[Plain]:
    rows = Allowance.objects.known(at).filter(restriction__child=child, ends_on__gte=first, starts_on__lte=last)
    return [
        {
            "id": row.pk,
            "kind": row.kind,
            "about": row.about,
            "term": row.term,
            "label": row.label_id,
            "ends_on": row.ends_on.isoformat(),
            "signature": row.signature,
        }
        for row in rows.order_by("pk")
    ]


def _runs(site: Site, first: date, last: date) -> list[Plain]:
    """The checks that looked at one of the days and were made before the last of them was over."""
    _, end = span(site, first, last)
    rows = Run.objects.complete().filter(site=site, first_day__lte=last, last_day__gte=first, as_of__lt=end)
    return [
        {"id": row.pk, "as_of": clock(row.as_of, site), "result": row.result_hash} for row in rows.order_by("as_of")
    ]
