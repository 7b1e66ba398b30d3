"""What was worked out for a site's week: a whole meal for each restricted child, as far as there is one."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import Q

from menus.models import Meal, Site
from menus.models.facts import Fact


class MealPlan(Fact):
    """The meals of one week, or one meal, as they were worked out at one moment. A newer one stands beside it.

    None is edited. It changes no menu and judges nothing: what may not be served is found by the check of each serving.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="meal_plans")
    monday = models.DateField(help_text="The week that it is for.")
    day = models.DateField(null=True, blank=True, help_text="The day of one meal alone; empty: the whole week.")
    meal = models.CharField(max_length=9, choices=Meal.choices, blank=True, help_text="One meal alone; empty: all.")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    read = models.TextField(help_text="The mark of the facts that it was worked out from.")
    seconds = models.FloatField(help_text="How long the search took, of all that was worked out together.")
    result = models.JSONField(help_text="Dishes and portions by day and meal; children by number, never by name.")

    class Meta:
        ordering = ["site", "-recorded_at"]
        indexes = [models.Index(fields=["site", "monday", "-recorded_at"], name="meal_plan_newest")]
        constraints = [
            models.CheckConstraint(
                condition=Q(day=None, meal="") | (Q(day__isnull=False) & ~Q(meal="")),
                name="meal_plan_of_a_week_or_a_meal",
                violation_error_message="Give a day and its meal, or neither for the whole week.",
            )
        ]

    def __str__(self) -> str:
        if self.day:
            return f"{self.meal} of {self.site}, {self.day:%Y-%m-%d}"
        return f"meals of {self.site}, week of {self.monday:%Y-%m-%d}"
