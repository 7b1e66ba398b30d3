"""Which program and age group a meal of a site follows."""

from __future__ import annotations

from datetime import date

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from menus.mealpattern.patterns.tables import Pattern, patterns
from menus.models.cycle import Meal
from menus.models.facts import Fact
from menus.models.site import Site


class SitePatternQuerySet(models.QuerySet["SitePattern"]):
    """Patterns of sites by day."""

    def holding(self, site: Site, meal: str, day: date) -> SitePattern | None:
        """Return the one that holds on that day: of those begun by then, the one begun last, the newest of two alike.

        It ends on its last day, or where a later one begins.
        """
        begun = self.filter(site=site, meal=meal, starts_on__lte=day).order_by("-starts_on", "-pk").first()
        return begun if begun and (begun.ends_on is None or day <= begun.ends_on) else None


class SitePattern(Fact):
    """A meal of a site follows a program's pattern for one group from a day on. A correction is a newer row."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="patterns")
    meal = models.CharField(max_length=9, choices=Meal.choices)
    program = models.CharField(max_length=30, help_text="As in docs/reference/check_week.md, such as nslp-lunch.")
    group = models.CharField(max_length=20, help_text="The age or grade group, such as K-5.")
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True, help_text="Its last day. Empty: until another one begins.")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    objects = SitePatternQuerySet.as_manager()

    class Meta:
        ordering = ["site", "meal", "starts_on", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on=None) | Q(ends_on__gte=F("starts_on")),
                name="site_pattern_ends_after_it_begins",
                violation_error_message="The last day lies before the first.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.program}, {self.group}: {self.get_meal_display()} at {self.site} from {self.starts_on:%Y-%m-%d}"

    def clean(self) -> None:
        """Refuse a program or group that no table holds."""
        groups = [group for program, group in patterns() if program == self.program]
        if not groups:
            known = ", ".join(dict.fromkeys(program for program, _ in patterns()))
            raise ValidationError({"program": f"“{self.program}” is no program held here. Give one of {known}."})
        if self.group not in groups:
            raise ValidationError(
                {"group": f"{self.program} has no group “{self.group}”. Give one of {', '.join(groups)}."}
            )

        if self.meal and self.program.rpartition("-")[2] != self.meal:
            raise ValidationError({"program": f"{self.program} is no pattern of a {self.meal}. Give one that is."})

    @property
    def pattern(self) -> Pattern:
        """The pattern itself; the rules of a date come from it."""
        return patterns()[self.program, self.group]
