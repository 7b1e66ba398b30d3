"""Cycle menus: a menu of so many weeks that repeats."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, timedelta

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from menus.models.recipe import Recipe
from menus.models.site import Site


class Meal(models.TextChoices):
    """The meals of a day, in its order."""

    BREAKFAST = "breakfast", "Breakfast"
    LUNCH = "lunch", "Lunch"
    SNACK = "snack", "Snack"
    SUPPER = "supper", "Supper"


MOST_CHOICE = 30
"""As long as what a dish is one choice of may be called."""
MEAL_ORDER = {meal.value: place for place, meal in enumerate(Meal)}


class Weekday(models.IntegerChoices):
    """Days of the week, counted as Python counts them."""

    MONDAY = 0, "Monday"
    TUESDAY = 1, "Tuesday"
    WEDNESDAY = 2, "Wednesday"
    THURSDAY = 3, "Thursday"
    FRIDAY = 4, "Friday"
    SATURDAY = 5, "Saturday"
    SUNDAY = 6, "Sunday"


SIX_DAYS = timedelta(days=6)
"""From Monday to Sunday."""


def monday_of(day: date) -> date:
    """Return the Monday of that day's week."""
    return day - timedelta(days=day.weekday())


class CycleMenu(models.Model):
    """A repeating menu of one site. Week 1 begins on `starts_on`, a Monday."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="cycles")
    name = models.CharField(max_length=120)
    weeks = models.PositiveSmallIntegerField(validators=[MinValueValidator(1), MaxValueValidator(26)])
    starts_on = models.DateField(help_text="The Monday on which week 1 is first served.")
    ends_on = models.DateField(null=True, blank=True)
    pauses = models.BooleanField(
        "waits for a closed week",
        default=False,
        help_text="A week in which nothing of it is served does not count: its menu follows in the week after.",
    )

    class Meta:
        ordering = ["site", "-starts_on"]
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="cycle_name_unique_at_site")]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self.starts_on and self.starts_on.weekday() != Weekday.MONDAY:
            raise ValidationError(
                {"starts_on": f"{self.starts_on} is no Monday. Give the Monday on which week 1 is first served."}
            )

    def week_on(self, day: date, closed: Collection[date] = ()) -> int | None:
        """Return which week of the cycle (1, 2 …) that day falls in, or None when the cycle is not in use.

        `closed` holds the Mondays of weeks that do not count. Without them weeks go by the calendar, closed or not: so
        the printed menu holds, and sites that one kitchen cooks for stay in step (common practice, no source).
        """
        if day < self.starts_on or (self.ends_on and day > self.ends_on):
            return None
        gone_by = sum(self.starts_on <= monday <= day - timedelta(days=7) for monday in closed)
        return ((day - self.starts_on) // timedelta(days=7) - gone_by) % self.weeks + 1


class CycleEntry(models.Model):
    """One dish of the cycle: which week, day and meal it stands on."""

    cycle = models.ForeignKey(CycleMenu, on_delete=models.CASCADE, related_name="entries")
    week = models.PositiveSmallIntegerField(validators=[MinValueValidator(1)])
    weekday = models.PositiveSmallIntegerField(choices=Weekday.choices)
    meal = models.CharField(max_length=9, choices=Meal.choices)
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="+")
    choice = models.CharField(
        max_length=MOST_CHOICE,
        blank=True,
        help_text="What it is one choice of, such as “main dish”: of such dishes of a meal a child takes one.",
    )

    class Meta:
        ordering = ["week", "weekday", "meal", "id"]
        constraints = [
            models.UniqueConstraint(fields=["cycle", "week", "weekday", "meal", "recipe"], name="cycle_entry_unique")
        ]

    def __str__(self) -> str:
        return f"week {self.week}, {self.get_weekday_display()}, {self.get_meal_display()}: {self.recipe}"
