"""Servings: one dish at one meal on one date at one site."""

from __future__ import annotations

from datetime import date

from django.db import models
from django.db.models import Q

from menus.models.cycle import MOST_CHOICE, CycleMenu, Meal
from menus.models.recipe import Recipe
from menus.models.site import Site


class ServingQuerySet(models.QuerySet["Serving"]):
    """Servings by day."""

    def planned(self) -> ServingQuerySet:
        """Servings that still stand."""
        return self.filter(withdrawn_at=None)

    def between(self, first: date, last: date) -> ServingQuerySet:
        """Servings from the first day to the last, both included."""
        return self.filter(date__range=(first, last))


class Serving(models.Model):
    """A dish on the plan of a day. A dish taken off the plan is withdrawn, never deleted."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="servings")
    date = models.DateField(db_index=True)
    meal = models.CharField(max_length=9, choices=Meal.choices)
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="servings")
    cycle = models.ForeignKey(
        CycleMenu,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="servings",
        help_text="The cycle that called for it; empty: entered by hand.",
    )
    choice = models.CharField(
        max_length=MOST_CHOICE,
        blank=True,
        help_text="What it is one choice of, such as “main dish”: of such dishes of a meal a child takes one.",
    )
    in_place_of = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The dish that its cycle calls for there, or that was entered there first; empty: nothing else.",
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = ServingQuerySet.as_manager()

    class Meta:
        ordering = ["date", "site", "meal", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "date", "meal", "recipe"],
                condition=Q(withdrawn_at=None),
                name="serving_once_a_meal",
                violation_error_message="This dish already stands on that meal.",
            )
        ]

    @property
    def stands_for(self) -> set[int]:
        """Ids of the recipes that are not planned beside it: its own, and that in whose place it stands."""
        return {self.recipe_id, self.in_place_of.recipe_id} if self.in_place_of else {self.recipe_id}

    def __str__(self) -> str:
        return f"{self.recipe}, {self.get_meal_display()} {self.date:%Y-%m-%d}, {self.site}"
