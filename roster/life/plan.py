"""Record where a child's emergency plan is kept. Each version takes the place of the one before it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.utils import timezone

from roster.access import children_with
from roster.life.stale import newest_seen
from roster.models import Child, EmergencyPlan, User, Verb
from roster.permits import Act, Thing
from roster.record.write import record

SAID = ("plan_place", "medication_place", "carried", "call", "dated", "review_on", "withdrawn")


def plan_of(child: Child) -> EmergencyPlan | None:
    """Return the newest pointer of the child, which may say that no plan is kept any more. One query."""
    known = EmergencyPlan.objects.known(timezone.now()).filter(child=child)
    return known.select_related("recorded_by").first()


@transaction.atomic
def record_plan(*, child: Child, recorded_by: User, replaces: EmergencyPlan | None, **said: Any) -> EmergencyPlan:
    """Record a version; `said` holds the fields of SAID.

    Raises PermissionDenied for whoever is not licensed staff of the child's site, Stale when another version was
    recorded since the one that the person saw, ValidationError when it says too little.
    """
    if not children_with(recorded_by, Thing.EMERGENCY, Act.CHANGE).filter(pk=child.pk).exists():
        raise PermissionDenied("Only licensed staff of the child's site record where an emergency plan is kept.")
    newest = newest_seen(child, lambda: plan_of(child), replaces)
    plan = EmergencyPlan(child=child, recorded_by=recorded_by, replaces=newest, **said)
    plan.full_clean()
    plan.save()
    record(
        Verb.RECORDED,
        plan,
        site=child.site,
        child=child,
        by=recorded_by.pk,
        before=_said(newest) if newest else None,
        after=_said(plan),
    )
    return plan


def _said(plan: EmergencyPlan) -> dict[str, str | bool | date | None]:
    return {name: getattr(plan, name) for name in SAID}
