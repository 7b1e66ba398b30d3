"""What no check can look for and people see to: textures, counted portions, fasts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import QuerySet

from roster.models import Child, Restriction


@dataclass(frozen=True, slots=True)
class SeenTo:
    """One child, and what whoever serves is told: no condition."""

    child: Child
    told: str


def seen_to(children: QuerySet[Child], day: date, at: datetime) -> list[SeenTo]:
    """Return what people see to for these children on that day, as known at that moment. One query."""
    standing = Restriction.objects.standing(day, day, at).filter(child__in=children, substance="")
    rows = standing.select_related("child").order_by("child", "pk")
    return [SeenTo(each.child, each.told) for each in rows if each.holds_on(day)]
