"""Which emergency plans are to be renewed, and for whom none is on record."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import QuerySet

from roster.kinds.kind import restriction_kinds
from roster.models import Child, EmergencyPlan, Restriction
from roster.models.restriction import MEDICAL, REMINDERS

SUDDEN = {"allergy", "delayed reaction"}
"""Families of kinds for which a plan is usual (common practice, no source). Which child needs one the nurse decides."""


@dataclass(frozen=True, slots=True)
class PlansDue:
    """What licensed staff see to. An old plan is shown in an emergency all the same."""

    day: date
    ending: tuple[EmergencyPlan, ...]  # past their date or within the longest term, the oldest first
    missing: tuple[Child, ...]  # with a restriction for which a plan is usual, and none kept

    @property
    def count(self) -> int:
        """How many children it is about."""
        return len(self.ending) + len(self.missing)


def plans_due(children: QuerySet[Child], day: date, at: datetime) -> PlansDue:
    """Return what is due on that day as known at that moment. Three queries."""
    kept = EmergencyPlan.objects.kept(at).filter(child__in=children).select_related("child").order_by("review_on", "pk")
    plans = list(kept)
    ending = tuple(plan for plan in plans if plan.review_on and plan.review_on - day <= max(REMINDERS))
    versions = Restriction.objects.standing(day, day, at).filter(child__in=children, basis__in=MEDICAL)
    wanting = {version.child_id for version in versions if _is_sudden(version)} - {plan.child_id for plan in plans}
    return PlansDue(day, ending, tuple(_named(wanting)))


def _is_sudden(version: Restriction) -> bool:
    """A kind that nobody has said yet counts: until somebody says it, it may be any."""
    kind = restriction_kinds().get(version.kind)
    return kind is None or kind.family in SUDDEN


def _named(ids: Iterable[int]) -> QuerySet[Child]:
    return Child.objects.filter(pk__in=ids).order_by("family_name", "given_name", "pk")
