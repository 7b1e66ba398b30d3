"""What licensed staff have to see to, so that no restriction rests on a paper that has run out or never came."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db import models
from django.db.models import QuerySet

from roster.kinds.kind import restriction_kinds
from roster.models import Child, Restriction, State
from roster.models.restriction import MEDICAL, REMINDERS

WANTS_STATEMENT = {"expected", "recommended"}
LONG, MIDDLE, SHORT = REMINDERS


class Why(models.TextChoices):
    """Why a restriction is on the list, the most pressing first."""

    EXPIRED = "expired", "The statement has run out"
    SHORT = "short", f"Runs out within {SHORT.days} days"
    UNREVIEWED = "unreviewed", "A statement waits for its review"
    MIDDLE = "middle", f"Runs out within {MIDDLE.days} days"
    WANTING = "wanting", "A better statement was asked for"
    UNSIGNED = "unsigned", "Reported, and no statement has come"
    LONG = "long", f"Runs out within {LONG.days} days"


@dataclass(frozen=True, slots=True)
class Due:
    """One restriction that waits for licensed staff. It protects all the while."""

    version: Restriction
    why: Why
    day: date

    @property
    def days_left(self) -> int | None:
        """Days until its statement runs out; negative when it has."""
        return (self.version.review_on - self.day).days if self.version.review_on else None


def due(children: QuerySet[Child], day: date, at: datetime) -> list[Due]:
    """Return what is due on that day as known at that moment, the most pressing first. One query."""
    known = Restriction.objects.known(at).filter(child__in=children, basis__in=MEDICAL)
    versions = known.select_related("child", "statement", "review").order_by("review_on", "child", "pk")
    found = [Due(version, why, day) for version in versions if (why := why_due(version, day))]
    order = list(Why)
    return sorted(found, key=lambda each: order.index(each.why))


def why_due(version: Restriction, day: date) -> Why | None:
    """Return why the version is to be seen to on that day, or None."""
    match version.state_on(day):
        case State.EXPIRED:
            return Why.EXPIRED
        case State.RECEIVED:
            return Why.UNREVIEWED
        case State.DUE:
            return _band(version, day)
        case State.REVIEWED:
            return Why.WANTING
        case State.REPORTED:
            return Why.UNSIGNED if _wants_statement(version) else None
        case _:
            return None


def _band(version: Restriction, day: date) -> Why:
    assert version.review_on is not None  # else it could not be due
    left = version.review_on - day
    if left <= SHORT:
        return Why.SHORT
    if version.review and version.review.wanting:
        return Why.WANTING
    return Why.MIDDLE if left <= MIDDLE else Why.LONG


def _wants_statement(version: Restriction) -> bool:
    kind = restriction_kinds().get(version.kind)
    return kind is None or kind.statement in WANTS_STATEMENT
