"""Deliveries: which dishes a central kitchen cooks for another site."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from menus.models.cycle import Meal
from menus.models.recipe import Recipe
from menus.models.site import Site


class DeliveryQuerySet(models.QuerySet["Delivery"]):
    """Deliveries by whether they stand."""

    def standing(self) -> DeliveryQuerySet:
        """Those that nobody has ended."""
        return self.filter(withdrawn_at=None)


class Delivery(models.Model):
    """The kitchen of one site cooks for another: one dish of a meal, or all that the meal holds there.

    What it cooks meets its equipment in its order of work, beside what it cooks for itself and for other sites, and
    then that of the site where it is eaten.
    """

    kitchen = models.ForeignKey(
        Site, on_delete=models.PROTECT, related_name="deliveries", help_text="Where it is cooked."
    )
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="delivered", help_text="Where it is eaten.")
    meal = models.CharField(max_length=9, choices=Meal.choices)
    recipe = models.ForeignKey(
        Recipe, null=True, blank=True, on_delete=models.PROTECT, related_name="+", help_text="Empty: the whole meal."
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = DeliveryQuerySet.as_manager()

    class Meta:
        ordering = ["kitchen", "site", "meal", "id"]
        verbose_name_plural = "deliveries"
        constraints = [
            models.UniqueConstraint(
                fields=["site", "meal", "recipe"],
                condition=Q(withdrawn_at=None, recipe__isnull=False),
                name="delivery_of_a_dish_once",
                violation_error_message="This dish is delivered there already. End that delivery first.",
            ),
            models.UniqueConstraint(
                fields=["site", "meal"],
                condition=Q(withdrawn_at=None, recipe__isnull=True),
                name="delivery_of_a_meal_once",
                violation_error_message="This meal is delivered there already. End that delivery first.",
            ),
            models.CheckConstraint(
                condition=~Q(kitchen=F("site")),
                name="delivery_to_another_site",
                violation_error_message="A kitchen needs no delivery to its own site.",
            ),
        ]

    def brings(self, meal: str, recipe: int) -> bool:
        """Tell whether it brings that dish of that meal."""
        return self.meal == meal and self.recipe_id in (None, recipe)

    def __str__(self) -> str:
        return f"{self.recipe or 'everything'} at {self.get_meal_display()}, {self.kitchen} to {self.site}"
