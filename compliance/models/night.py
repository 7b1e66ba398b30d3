"""The nights: which checks were due, in how many slices, and what became of each.

These rows are the state of the night. Messages in the queue only say where to look: one that is lost, late or doubled
changes nothing, since each step is taken by a conditional update here.
"""

from __future__ import annotations

from datetime import datetime

from django.db import models
from django.db.models import Q
from django.utils import timezone

from compliance.models.run import Run
from menus.models import Site
from roster.models import User


class NightQuerySet(models.QuerySet["Night"]):
    """Nights by state."""

    def under_way(self) -> NightQuerySet:
        """Nights that were begun and not closed."""
        return self.filter(state=Night.State.RUNNING)


class Night(models.Model):
    """The sites whose check was due at one moment, checked together. To insert the row is the right to start it."""

    class State(models.TextChoices):
        RUNNING = "running", "Under way"
        COMPLETE = "complete", "Complete"
        PARTIAL = "partial", "Not every site was checked"

    due_at = models.DateTimeField(help_text="The moment at which the sites were to be checked.")
    turn = models.PositiveSmallIntegerField(default=1, help_text="From 2 on: sites of the same moment, tried again.")
    trigger = models.CharField(max_length=6, choices=Run.Trigger.choices, default=Run.Trigger.NIGHT)
    zone_hint = models.CharField(max_length=64, blank=True, help_text="Time zone of the sites; empty: of several.")
    first_day = models.DateField(null=True, blank=True, help_text="First day to check; empty: today, at each site.")
    state = models.CharField(max_length=8, choices=State.choices, default=State.RUNNING)
    started_at = models.DateTimeField(default=timezone.now)
    closed_at = models.DateTimeField(null=True, blank=True)
    counts = models.JSONField(default=dict, help_text="Once closed, sites: checked, busy, failed.")

    objects = NightQuerySet.as_manager()

    class Meta:
        ordering = ["-due_at", "-turn", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["due_at", "trigger", "turn"],
                name="night_started_once",
                violation_error_message="This night was started already.",
            )
        ]
        indexes = [models.Index(fields=["due_at"], condition=Q(state="running"), name="night_under_way")]

    def __str__(self) -> str:
        return f"night {self.pk}, due {self.due_at:%Y-%m-%d %H:%M} UTC"

    @property
    def seconds(self) -> float | None:
        """How long it took; None while it is under way."""
        return round((self.closed_at - self.started_at).total_seconds(), 1) if self.closed_at else None


class NightSliceQuerySet(models.QuerySet["NightSlice"]):
    """Slices by state."""

    def open(self) -> NightSliceQuerySet:
        """Slices that have not come to an end."""
        return self.filter(state__in=NightSlice.OPEN)

    def rested(self, now: datetime) -> NightSliceQuerySet:
        """Slices that wait, and may be worked on by now."""
        return self.filter(Q(not_before=None) | Q(not_before__lte=now), state=NightSlice.State.WAITING)

    def in_line(self, now: datetime) -> NightSliceQuerySet:
        """Those of them that are not in the queue."""
        return self.rested(now).filter(queued_at=None)

    def under_way(self) -> NightSliceQuerySet:
        """Slices in the queue or in somebody's hands: what back-pressure counts."""
        return self.filter(
            Q(state=NightSlice.State.RUNNING) | Q(state=NightSlice.State.WAITING, queued_at__isnull=False)
        )


class NightSlice(models.Model):
    """Some sites of a night, checked by one worker at a time."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        RUNNING = "running", "Running"
        DONE = "done", "Done"
        FAILED = "failed", "Failed"

    OPEN = (State.WAITING, State.RUNNING)

    night = models.ForeignKey(Night, on_delete=models.CASCADE, related_name="slices")
    number = models.PositiveIntegerField()
    sites = models.JSONField(help_text="Ids of the sites.")
    state = models.CharField(max_length=7, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    queued_at = models.DateTimeField(null=True, blank=True, help_text="When it was last put into the queue.")
    not_before = models.DateTimeField(null=True, blank=True, help_text="Given back: rests until then.")
    claim = models.UUIDField(null=True, blank=True, editable=False, help_text="Whose it is while it runs.")
    lease_until = models.DateTimeField(null=True, blank=True, help_text="Unless renewed, it is given up after this.")
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    counts = models.JSONField(default=dict, help_text="Of its sites: checked, busy, failed.")
    error = models.TextField(blank=True, help_text="Why it failed, or why it was last given back.")

    objects = NightSliceQuerySet.as_manager()

    class Meta:
        ordering = ["night", "number"]
        constraints = [models.UniqueConstraint(fields=["night", "number"], name="slice_once_a_night")]
        indexes = [models.Index(fields=["state"], condition=Q(state__in=["waiting", "running"]), name="slice_open")]

    def __str__(self) -> str:
        return f"slice {self.number} of {self.night}"


class DeadLetterQuerySet(models.QuerySet["DeadLetter"]):
    """Dead letters by state."""

    def unsettled(self) -> DeadLetterQuerySet:
        """Those that still want somebody."""
        return self.filter(settled_at=None)


class DeadLetter(models.Model):
    """Work that was given up. It waits here for a person, or for a later check that goes through."""

    class Reason(models.TextChoices):
        ERROR = "error", "The check ended in an error"
        BUSY = "busy", "The site was busy every time"
        AWAY = "away", "The database or the broker was away every time"
        SLOW = "slow", "It took too long every time"
        LOST = "lost", "Whoever worked on it went away every time"

    task = models.CharField(max_length=40, help_text="Which work: slice, recheck …")
    site = models.ForeignKey(Site, null=True, blank=True, on_delete=models.CASCADE, related_name="dead_letters")
    slice = models.ForeignKey(NightSlice, null=True, blank=True, on_delete=models.SET_NULL, related_name="dead_letters")
    reason = models.CharField(max_length=5, choices=Reason.choices)
    error = models.TextField(blank=True)
    attempts = models.PositiveIntegerField(default=1, help_text="How often it was tried, all in all.")
    failed_at = models.DateTimeField(default=timezone.now, help_text="When it was last given up.")
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(User, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=200, blank=True, help_text="How it was settled.")

    objects = DeadLetterQuerySet.as_manager()

    class Meta:
        ordering = ["-failed_at", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["task", "site"],
                condition=Q(settled_at=None, site__isnull=False),
                name="dead_letter_once_a_site",
            )
        ]

    def __str__(self) -> str:
        return f"{self.task} of {self.site or self.slice}: {self.get_reason_display()}"
