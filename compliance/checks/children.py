"""Translate stored facts about children into restriction types, day by day."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import QuerySet

from compliance.rules.values import RestrictionType, Scope, Strictness
from menus.labels.evidence import Kind
from menus.models import Site
from roster.models import Allowance, Child, Enrolment, Restriction


@dataclass(frozen=True, slots=True)
class Period:
    """What one restriction comes down to between two days, both included."""

    restriction: Restriction
    type: RestrictionType
    first: date
    last: date


def children_at(site: Site, first: date, last: date) -> QuerySet[Child]:
    """Return the children enrolled at the site on at least one of the days."""
    enrolled = Enrolment.objects.during(first, last).filter(classroom__site=site)
    return Child.objects.filter(pk__in=enrolled.values("child"))


def periods(children: QuerySet[Child], first: date, last: date, at: datetime) -> list[Period]:
    """Return the restriction types of the children between two days, as known at that moment. Two queries."""
    restrictions = (
        Restriction.objects.in_force(first, last, at).filter(child__in=children).select_related("child").order_by("pk")
    )
    signed = Allowance.objects.known(at).filter(restriction__child__in=children)
    held = signed.filter(ends_on__gte=first, starts_on__lte=last).select_related("restriction")
    return periods_of(restrictions, held, first, last)


def periods_of(
    restrictions: Iterable[Restriction], allowances: Iterable[Allowance], first: date, last: date
) -> list[Period]:
    """Return what these restrictions come down to between two days, with these allowances. No query of its own."""
    held: dict[int, list[Allowance]] = {}
    for allowance in allowances:
        held.setdefault(allowance.restriction.chain, []).append(allowance)
    return [
        period
        for restriction in restrictions
        for period in _split(restriction, held.get(restriction.chain, []), first, last)
    ]


def type_on(restriction: Restriction, allowances: Iterable[Allowance], day: date) -> RestrictionType | None:
    """Return what the restriction comes down to on that day, or None when it does not hold."""
    if not restriction.holds_on(day):
        return None
    scopes = {
        Scope(Kind(allowance.kind), allowance.about, str(allowance.label_id or ""), allowance.term)
        for allowance in allowances
        if allowance.starts_on <= day <= allowance.ends_on
    }
    return RestrictionType(restriction.substance, Strictness(restriction.strictness), tuple(sorted(scopes)))


def _split(restriction: Restriction, allowances: list[Allowance], first: date, last: date) -> Iterator[Period]:
    """Cut the days where the type changes."""
    begun, current = first, type_on(restriction, allowances, first)
    for n in range(1, (last - first).days + 1):
        day = first + timedelta(days=n)
        kind = type_on(restriction, allowances, day)
        if kind != current:
            if current:
                yield Period(restriction, current, begun, day - timedelta(days=1))
            begun, current = day, kind
    if current:
        yield Period(restriction, current, begun, last)
