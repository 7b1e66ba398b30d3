"""A child's restrictions as licensed staff read them: where each stands, on what paper, with what allowances."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import QuerySet

from menus.substances.catalogue import Catalogue
from roster.kinds.kind import RestrictionKind, restriction_kinds
from roster.kinds.related import Related, related_to
from roster.life.allowance import Signed, allowances_of
from roster.models import Child, Restriction, State


@dataclass(slots=True)
class Line:
    """One restriction on one day, by its version at that time."""

    version: Restriction
    day: date
    allowances: list[Signed] = field(default_factory=list)
    statement_names_others: bool = False

    @property
    def state(self) -> State:
        """Where it stands."""
        return self.version.state_on(self.day)

    @property
    def has_ended(self) -> bool:
        """Whether it protects no longer."""
        return self.state == State.ENDED

    @property
    def kind(self) -> RestrictionKind | None:
        """Its kind, where one was said."""
        return restriction_kinds().get(self.version.kind)

    @property
    def what(self) -> str:
        """The substance by name, or what people see to."""
        return what(self.version)

    @property
    def related(self) -> tuple[Related, ...]:
        """What is published about foods beside it."""
        return related_to(self.version.substance) if self.version.is_medical else ()

    @property
    def days_left(self) -> int | None:
        """Days until its statement runs out; negative when it has."""
        return (self.version.review_on - self.day).days if self.version.review_on else None


def what(version: Restriction) -> str:
    """The substance by name, or what people see to."""
    return Catalogue.load().get(version.substance).name if version.substance else version.told


def lines_of(child: Child, today: date, now: datetime) -> list[Line]:
    """Return every restriction of the child at its newest version, with the allowances not done with. Four queries."""
    lines = _lines(Restriction.objects.known(now).filter(child=child), today)
    by_chain: dict[int, list[Signed]] = {}
    for signed in allowances_of(Child.objects.filter(pk=child.pk), today, now):
        if signed.can_be_withdrawn:
            by_chain.setdefault(signed.allowance.restriction.chain, []).append(signed)
    papers = any(line.version.statement_id for line in lines)
    for line in lines:
        line.allowances = by_chain.get(line.version.chain, [])
        line.statement_names_others = papers and line.state == State.REPORTED
    return lines


def standing_at(child: Child, day: date, at: datetime) -> list[Line]:
    """Return what held on that day as it was known at that moment. One query."""
    stood = Restriction.objects.standing(day, day, at).filter(child=child)
    return [line for line in _lines(stood, day) if line.version.holds_on(day)]


def _lines(versions: QuerySet[Restriction], day: date) -> list[Line]:
    rows = versions.select_related("statement", "review", "recorded_by")
    return sorted((Line(version, day) for version in rows), key=lambda line: (line.version.substance == "", line.what))
