"""Announcements: what became an exception on the very day, after that day had been checked before."""

from __future__ import annotations

from django.db import models

from compliance.models.run import Run
from compliance.models.verdict import OUTCOMES
from menus.models import Serving
from menus.models.facts import Fact
from roster.models import Child


class Announcement(Fact):
    """One exception that came up while the day was under way. Whether it still stands, the newest check says."""

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="announcements")
    serving = models.ForeignKey(Serving, on_delete=models.PROTECT, related_name="announcements")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    substance = models.CharField(max_length=60)
    outcome = models.PositiveSmallIntegerField(choices=OUTCOMES)

    class Meta:
        ordering = ["-recorded_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["run", "serving", "child", "substance", "outcome"], name="announcement_once_a_run"
            )
        ]

    def __str__(self) -> str:
        return f"{self.serving}: {self.child}, {self.substance}, {self.get_outcome_display()}"
