"""Weeks of meals that somebody asked for and that are worked out together, outside the page."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils import timezone

from menus.models import Site

MOST_WEEKS = 12
"""Longer than the usual cycles; labels, menus and class lists of later days will be others."""

SILENT = timedelta(minutes=30)
"""After so long without an end the work was lost, with the process that did it or on the way there."""


class MealJob(models.Model):
    """One request for several weeks. What comes of it are plans, week by week; this row says how far it has come."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting to begin"
        READING = "reading", "Reading menus, labels and children"
        CHOOSING = "choosing", "Choosing"
        KEPT = "kept", "Worked out"
        FAILED = "failed", "Failed"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="meal_jobs")
    monday = models.DateField(help_text="The first week.")
    weeks = models.PositiveSmallIntegerField(validators=[MinValueValidator(2), MaxValueValidator(MOST_WEEKS)])
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(default=timezone.now)
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    begun_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-asked_at", "-id"]
        indexes = [models.Index(fields=["site", "-asked_at"], name="meal_job_newest")]

    def __str__(self) -> str:
        return f"meals of {self.site}, {self.weeks} weeks from {self.monday:%Y-%m-%d}"

    @property
    def last(self) -> datetime:
        """The moment of which something is known last."""
        return self.ended_at or self.begun_at or self.asked_at

    def is_open(self, now: datetime) -> bool:
        """Tell whether an end is still to come."""
        return self.state not in (self.State.KEPT, self.State.FAILED) and now - self.last < SILENT

    def is_lost(self, now: datetime) -> bool:
        """Tell whether it was begun, or waits, and nothing was heard of it for too long."""
        return self.state not in (self.State.KEPT, self.State.FAILED) and not self.is_open(now)
