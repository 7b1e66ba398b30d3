"""Dishes that a kitchen has on hand beside its menu, to stand in where a child may not have what is planned."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import F, Q

from menus.models.cycle import Meal
from menus.models.recipe import Recipe
from menus.models.site import Site


def validate_some(meals: object) -> None:
    """Refuse what is no list of meals; an empty one means all of them."""
    if not isinstance(meals, list) or not set(meals) <= set(Meal.values):
        raise ValidationError(f"Give a list of meals, or nothing for all of them: {', '.join(Meal.values)}.")


class Counted(models.TextChoices):
    """Over which days the portions of a dish on hand are counted."""

    WEEK = "week", "each week, Monday to Sunday"
    ALL = "all", "in all, from the first day to the last"


class AlternativeQuerySet(models.QuerySet["Alternative"]):
    """Alternatives by the days on which they are on hand."""

    def between(self, first: date, last: date) -> AlternativeQuerySet:
        """Those on hand on some day between the two, both included."""
        return self.filter(Q(ends_on=None) | Q(ends_on__gte=first), starts_on__lte=last)


class Alternative(models.Model):
    """One dish that a site can prepare beside its menu. It is no serving, and it is never edited: it is ended."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="alternatives")
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="+")
    meals = models.JSONField(
        default=list, blank=True, validators=[validate_some], help_text="The meals that it suits. Empty: all of them."
    )
    starts_on = models.DateField("on hand from")
    ends_on = models.DateField(
        "last day", null=True, blank=True, help_text="The last day on which it is on hand. Empty: until it is ended."
    )
    portions = models.PositiveIntegerField(
        "portions",
        null=True,
        blank=True,
        help_text="How many portions there are. Empty: as many as are wanted.",
    )
    counted = models.CharField(
        "portions are counted",
        max_length=4,
        choices=Counted.choices,
        default=Counted.WEEK,
        help_text="Whether so many come anew each week, or there are so many in all, from the first day to the last.",
    )
    cost = models.DecimalField(
        "cost of a portion",
        max_digits=6,
        decimal_places=2,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal(0))],
        help_text="In the money of the site. Empty: not counted.",
    )
    milk_cups = models.DecimalField(
        "cups in place of milk",
        max_digits=4,
        decimal_places=3,
        null=True,
        blank=True,
        validators=[MinValueValidator(Decimal("0.001"))],
        help_text="For a drink in place of milk whose papers are in order: how many cups of milk a portion stands for. "
        "Empty: what its recipe credits.",
    )
    note = models.CharField(max_length=120, blank=True, help_text="Where it is kept, how long it takes.")

    objects = AlternativeQuerySet.as_manager()

    class Meta:
        ordering = ["site", "recipe__name", "id"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "recipe"],
                condition=Q(ends_on=None),
                name="alternative_open_once",
                violation_error_message="This dish is on hand already. End that entry first.",
            ),
            models.CheckConstraint(
                condition=Q(ends_on=None) | Q(ends_on__gte=F("starts_on")),
                name="alternative_ends_after_it_begins",
                violation_error_message="The last day lies before the first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.recipe}, on hand at {self.site}"

    def is_on_hand(self, day: date, meal: str) -> bool:
        """Tell whether it can be prepared for that meal of the day."""
        begun = self.starts_on <= day and (self.ends_on is None or day <= self.ends_on)
        return begun and (not self.meals or meal in self.meals)

    @property
    def meals_said(self) -> str:
        """Return the meals that it suits, in words."""
        return ", ".join(meal.label.lower() for meal in Meal if meal.value in self.meals) or "any meal"
