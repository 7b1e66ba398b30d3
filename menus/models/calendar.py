"""Closures: days on which a site serves no meals, or not all of them."""

from __future__ import annotations

from datetime import date, datetime

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from menus.models.cycle import Meal
from menus.models.facts import Fact, VersionQuerySet
from menus.models.site import Site


def every_meal() -> list[str]:
    """Return the meals of a day without any: all there are."""
    return list(Meal.values)


def validate_meals(meals: object) -> None:
    """Refuse what is not a list of different meals, or an empty one: then nothing would be closed."""
    if not isinstance(meals, list) or not meals or len(set(meals)) != len(meals) or set(meals) - set(Meal.values):
        raise ValidationError(
            "Name at least one meal that is not served, each once: %(meals)s.",
            code="meals",
            params={"meals": ", ".join(Meal.values)},
        )


class ClosureQuerySet(VersionQuerySet["Closure"]):
    """Closures by place, day and what was recorded."""

    def standing(self, at: datetime) -> ClosureQuerySet:
        """Those known at that moment that count: meals are not served."""
        return self.known(at).filter(withdrawn=False)

    def newest(self) -> ClosureQuerySet:
        """Those that count by all that is on record, whatever a clock says."""
        return self.filter(withdrawn=False, replaced_by=None)

    def at(self, site: Site) -> ClosureQuerySet:
        """Those of the site, and those of all sites."""
        return self.filter(Q(site=site) | Q(site=None))

    def between(self, first: date, last: date) -> ClosureQuerySet:
        """Those that hold a day between the two, both included."""
        return self.filter(first_day__lte=last, last_day__gte=first)


class Closure(Fact):
    """One version of a stretch of days on which meals are not served. A correction, or its end, is a newer version."""

    site = models.ForeignKey(
        Site, null=True, blank=True, on_delete=models.PROTECT, related_name="closures", help_text="Empty: all sites."
    )
    first_day = models.DateField()
    last_day = models.DateField(help_text="It belongs to the closure.")
    meals = models.JSONField(default=every_meal, blank=True, help_text="The meals that are not served: all, or some.")
    reason = models.CharField(max_length=120, help_text="As people call it, such as: winter break.")
    withdrawn = models.BooleanField(default=False, help_text="Meals are served after all.")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")

    objects = ClosureQuerySet.as_manager()

    class Meta:
        ordering = ["first_day", "id"]
        indexes = [models.Index(fields=["site", "last_day"], name="closure_by_site")]
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")),
                name="closure_ends_after_it_begins",
                violation_error_message="The last day lies before the first.",
            )
        ]

    def clean(self) -> None:
        """Refuse a closure that closes nothing."""
        try:
            validate_meals(self.meals)
        except ValidationError as error:
            raise ValidationError({"meals": error.messages}) from error

    def __str__(self) -> str:
        return f"{self.reason}, {self.first_day:%Y-%m-%d} to {self.last_day:%Y-%m-%d}, {self.site or 'all sites'}"

    @property
    def is_whole_day(self) -> bool:
        """Whether no meal at all is served."""
        return set(self.meals) == set(Meal.values)

    @property
    def words(self) -> str:
        """What is not served and why: “no meals: winter break”, “no snack, no supper: half day”."""
        if self.is_whole_day:
            return f"no meals: {self.reason}"
        missing = [meal for meal in Meal if meal.value in self.meals]
        return f"{', '.join(f'no {meal.label.lower()}' for meal in missing)}: {self.reason}"

    def covers(self, day: date) -> bool:
        """Tell whether the day belongs to it."""
        return self.first_day <= day <= self.last_day
