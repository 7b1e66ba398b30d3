"""Where a child's emergency plan and what belongs to it are kept: a pointer, never the plan itself."""

from __future__ import annotations

from datetime import date, datetime

from django.conf import settings
from django.db import models
from django.db.models import Q

from menus.models.facts import Fact, VersionQuerySet
from roster.models.child import Child


class EmergencyPlanQuerySet(VersionQuerySet["EmergencyPlan"]):
    """Pointers by what was recorded."""

    def kept(self, at: datetime) -> EmergencyPlanQuerySet:
        """Those known at that moment that point to a plan which is still kept."""
        return self.known(at).filter(withdrawn=False)


class EmergencyPlan(Fact):
    """One version of where the paper lies. It names no drug and no dose: those stand on the plan that somebody signed.

    A plan past its date is shown all the same, with the date: who reads it is told, and follows what there is.
    """

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="emergency_plans")
    plan_place = models.CharField(max_length=200, blank=True, help_text="Such as: red binder, front office.")
    medication_place = models.CharField(max_length=200, blank=True, help_text="Empty: nothing is on record of any.")
    carried = models.BooleanField("the child carries it", default=False)
    call = models.CharField(
        max_length=200, blank=True, help_text="Who is called, by role, and where the numbers are. No number itself."
    )
    dated = models.DateField(null=True, blank=True, help_text="The date on the plan.")
    review_on = models.DateField(null=True, blank=True, help_text="The day by which a newer plan is asked for.")
    withdrawn = models.BooleanField(default=False, help_text="No plan is kept any more.")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")

    objects = EmergencyPlanQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(withdrawn=True) | ~Q(plan_place=""),
                name="emergency_plan_says_where",
                violation_error_message="Say where the plan is kept, or that no plan is kept any more.",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn=True) | Q(dated__isnull=False, review_on__isnull=False),
                name="emergency_plan_is_dated",
                violation_error_message="Give the date on the plan, and the day by which a newer one is asked for.",
            ),
        ]

    def __str__(self) -> str:
        return f"emergency plan of {self.child}"

    def is_past(self, day: date) -> bool:
        """Tell whether a newer plan should have come by that day."""
        return self.review_on is not None and self.review_on <= day
