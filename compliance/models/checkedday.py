"""Which run speaks for a site's day."""

from __future__ import annotations

from django.db import models

from compliance.models.run import Run
from menus.models import Site


class CheckedDay(models.Model):
    """The newest complete run that looked at a day of a site. What children avoid then is read from it."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="checked_days")
    day = models.DateField()
    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="days")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["site", "day"], name="checked_day_once_a_site")]

    def __str__(self) -> str:
        return f"{self.day} at {self.site}, by {self.run}"
