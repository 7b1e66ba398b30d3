"""What no check can look for and people see to: textures, counted portions, fasts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from django.db.models import QuerySet
from django.utils import timezone

from compliance.checks.exceptions import ExceptionRow
from compliance.checks.texture import levels_asked
from compliance.checks.texturesaid import texture_says
from compliance.models import TreatCheck
from roster.models import Child, Enrolment, Restriction, TextureLevel


@dataclass(frozen=True, slots=True)
class SeenTo:
    """One child, and what whoever serves is told: no condition."""

    child: Child
    told: str


def seen_to_at(check: TreatCheck) -> list[SeenTo]:
    """Return what people see to for the class of a treat check, on its day, as known at its answer. One query."""
    day = check.served_at.astimezone(check.classroom.site.zone).date()
    there = Enrolment.objects.on(day).filter(classroom=check.classroom_id)
    children = Child.objects.filter(pk__in=there.order_by().values("child"))
    return seen_to(children, day, datetime.fromisoformat(check.result["as_of"]))


def with_seen_to(rows: Sequence[ExceptionRow]) -> list[ExceptionRow]:
    """Return the exceptions with what else people see to for each child on the day. Two queries, when there are any."""
    if not rows:
        return []
    first, last = min(row.date for row in rows), max(row.date for row in rows)
    standing = Restriction.objects.standing(first, last, timezone.now()).filter(substance="")
    found: dict[int, list[Restriction]] = {}
    for each in standing.filter(child__in={row.child.pk for row in rows}).order_by("pk"):
        found.setdefault(each.child_id, []).append(each)
    levels = levels_asked({row.child.pk for row in rows}, timezone.now())
    return [
        replace(row, seen_to=(*_told(found.get(row.child.pk, []), row.date), *_texture(levels.get(row.child.pk))))
        for row in rows
    ]


def _told(standing: Iterable[Restriction], day: date) -> list[str]:
    return [each.told for each in standing if each.holds_on(day)]


def _texture(level: TextureLevel | None) -> list[str]:
    return [texture_says(level)] if level else []


def seen_to(children: QuerySet[Child], day: date, at: datetime) -> list[SeenTo]:
    """Return what people see to for these children on that day, as known at that moment. One query."""
    standing = Restriction.objects.standing(day, day, at).filter(child__in=children, substance="")
    rows = standing.select_related("child").order_by("child", "pk")
    return [SeenTo(each.child, each.told) for each in rows if each.holds_on(day)]
