"""What was done around an incident: treats checked and handed out, what was washed, what the kitchens recorded."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import Any

from django.db.models import Q

from compliance.models import TableEvent, TreatCheck
from menus.kitchen.cleaning import method_names
from menus.models import Delivery, KitchenEvent, Site
from menus.models.event import standing
from roster.models import Child, Classroom

Plain = dict[str, Any]


def treats(child: Child, rooms: Iterable[Classroom], site: Site, first: date, last: date) -> list[Plain]:
    """Return the checks of foods that came to these classes, with what each said of the child. Three queries."""
    begin, end = span(site, first, last)
    checks = TreatCheck.objects.filter(classroom__in=rooms, served_at__gte=begin, served_at__lt=end)
    checks = checks.select_related("label__product", "checked_by").prefetch_related("table_events")
    return [
        {
            "id": check.pk,
            "food": check.food,
            "for": clock(check.served_at, site),
            "checked_at": clock(check.recorded_at, site),
            "label": check.label_id,
            "label_version": check.label.number if check.label else None,
            "handed_out": [clock(event.happened_at, site) for event in check.table_events.all()],
            "outcome": _said(check, child),
        }
        for check in checks.order_by("served_at", "pk")
    ]


def _said(check: TreatCheck, child: Child) -> str:
    """What the answer said about the child, gravest first; a child it does not name met nothing."""
    for outcome in ("withhold", "refer"):
        if any(row["child_id"] == child.pk for row in check.result[outcome]):
            return outcome
    return "none found in the records checked"


def washings(rooms: Iterable[Classroom], site: Site, first: date, last: date) -> list[Plain]:
    """Return what these classes recorded as washed. One query."""
    begin, end = span(site, first, last)
    events = TableEvent.objects.filter(
        classroom__in=rooms, kind=TableEvent.Kind.WASHED, happened_at__gte=begin, happened_at__lt=end
    )
    return [
        {
            "id": event.pk,
            "at": clock(event.happened_at, site),
            "what": event.get_place_display(),
            "how": method_names().get(event.method, event.method),
        }
        for event in events
    ]


def kitchen_events(site: Site, first: date, last: date) -> list[KitchenEvent]:
    """Return the records that stand of every kitchen that cooks for the site. One query."""
    begin, end = span(site, first, last)
    cooking = Delivery.objects.standing().filter(site=site).values("kitchen")
    events = KitchenEvent.objects.filter(
        Q(site=site) | Q(site__in=cooking), happened_at__gte=begin, happened_at__lt=end
    ).select_related("site", "surface", "other_surface", "serving__recipe", "batch", "product_out", "product_in")
    return standing(events.order_by("happened_at", "pk"))


def event_plain(event: KitchenEvent, site: Site) -> Plain:
    """Return a record of a kitchen as plain values, on the site's clock."""
    things = (
        event.serving and event.serving.recipe.name,
        event.surface and event.surface.name,
        event.other_surface and event.other_surface.name,
        event.product_out and f"{event.product_out.name} ran out",
        event.product_in and f"{event.product_in.name} in its place",
        event.batch and f"left over from {event.batch.date.isoformat()}",
        event.method and method_names().get(event.method, event.method),
    )
    return {
        "id": event.pk,
        "kitchen": event.site.name,
        "at": clock(event.happened_at, site),
        "what": event.get_kind_display(),
        "about": [thing for thing in things if thing],
        "late": event.is_late,
        "note": event.note,
    }


def span(site: Site, first: date, last: date) -> tuple[datetime, datetime]:
    """Return the first midnight and the one after the last day, on the site's clock."""
    return (
        datetime.combine(first, time.min, site.zone),
        datetime.combine(last + timedelta(days=1), time.min, site.zone),
    )


def clock(moment: datetime, site: Site) -> str:
    """Return day and minute as people at the site read them."""
    return f"{moment.astimezone(site.zone):%Y-%m-%d %H:%M}"
