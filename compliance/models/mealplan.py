"""What was worked out for a site's week: a whole meal for each restricted child, as far as there is one."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from menus.models import Site
from menus.models.facts import Fact


class MealPlan(Fact):
    """The meals of one week as they were worked out at one moment. A newer one stands beside it; none is edited.

    It changes no menu and judges nothing: what may not be served is found by the check of each serving.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="meal_plans")
    monday = models.DateField(help_text="The week that it is for.")
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    read = models.TextField(help_text="The mark of the facts that it was worked out from.")
    seconds = models.FloatField(help_text="How long the search took.")
    result = models.JSONField(help_text="Dishes and portions by day and meal; children by number, never by name.")

    class Meta:
        ordering = ["site", "-recorded_at"]
        indexes = [models.Index(fields=["site", "monday", "-recorded_at"], name="meal_plan_newest")]

    def __str__(self) -> str:
        return f"meals of {self.site}, week of {self.monday:%Y-%m-%d}"
