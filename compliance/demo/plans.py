"""Where the emergency plans of the demo's children are kept: most in the office, one past its date, some unknown."""

from __future__ import annotations

from datetime import date, timedelta

from roster.models import Child, EmergencyPlan, User
from roster.models.restriction import MEDICAL

TERM = timedelta(days=365)
PAST, MISSING = 2, 5
"""The second plan is past its date; of every fifth child with a medical restriction none is on record."""

PLACES = ("Red binder, front office", "Red binder, front office", "Folder in the nurse's room")
KEPT = ("Cabinet in the nurse's room, unlocked in school hours", "Class bag, goes along everywhere")
CALL = "Mother, then father; numbers on the plan"


def load_plans(*, today: date, nurse: User) -> None:
    """Write them for the children with a medical restriction, by the order of the children."""
    with_medical = Child.objects.filter(restrictions__basis__in=MEDICAL).distinct().order_by("pk")
    for number, child in enumerate(with_medical, start=1):
        if number % MISSING:
            _plan(child, number, today, nurse)


def _plan(child: Child, number: int, today: date, nurse: User) -> None:
    dated = today - (TERM + timedelta(days=35) if number == PAST else timedelta(days=40 + number))
    plan = EmergencyPlan(
        child=child,
        plan_place=PLACES[number % len(PLACES)],
        medication_place=KEPT[number % len(KEPT)],
        carried=number % 7 == 0,
        call=CALL,
        dated=dated,
        review_on=dated + TERM,
        recorded_by=nurse,
    )
    plan.full_clean()
    plan.save()
