"""Runs: one check of one site's coming days, with the versions of every fact it read."""

from __future__ import annotations

from datetime import date, timedelta

from django.db import models
from django.db.models import OuterRef, Q, Subquery
from django.utils import timezone

from menus.models import Site
from roster.models import Child, Restriction

STALE_AFTER = timedelta(hours=24)


class RunQuerySet(models.QuerySet["Run"]):
    """Runs by state and day."""

    def complete(self) -> RunQuerySet:
        """Runs that came to their end."""
        return self.filter(state=Run.State.COMPLETE)

    def newest_for(self, site: Site) -> Run | None:
        """The last complete run of the site."""
        return self.complete().filter(site=site).order_by("-as_of", "-id").first()

    def newest_of_each_site(self, day: date) -> RunQuerySet:
        """The last complete run of every site that has one which looked at the day."""
        newest = Run.objects.complete().covering(day).filter(site=OuterRef("site")).order_by("-as_of", "-id")
        return self.filter(pk=Subquery(newest.values("pk")[:1]))

    def covering(self, day: date) -> RunQuerySet:
        """Runs whose window holds the day."""
        return self.filter(first_day__lte=day, last_day__gte=day)


class Run(models.Model):
    """One check of one site. Never edited once complete; a later run supersedes what it says of the days they share."""

    class State(models.TextChoices):
        RUNNING = "running", "Running"
        COMPLETE = "complete", "Complete"
        FAILED = "failed", "Failed"

    class Trigger(models.TextChoices):
        NIGHT = "night", "Nightly"
        HAND = "hand", "By hand"
        CHANGE = "change", "After a change"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="runs")
    trigger = models.CharField(max_length=6, choices=Trigger.choices)
    state = models.CharField(max_length=8, choices=State.choices, default=State.RUNNING)
    as_of = models.DateTimeField(help_text="Facts recorded after this moment were not read.")
    first_day = models.DateField()
    last_day = models.DateField()
    started_at = models.DateTimeField(auto_now_add=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    claim = models.UUIDField(null=True, editable=False, help_text="Whose it is while it runs.")
    food = models.ForeignKey(
        "compliance.FoodRead", null=True, on_delete=models.PROTECT, related_name="+", help_text="The food as it stood."
    )
    panel = models.ForeignKey(
        "compliance.Panel",
        null=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The restriction types for which its dishes were judged.",
    )
    inputs = models.JSONField(default=dict, help_text="Ids of the other facts read: servings, plan, records.")
    result_hash = models.CharField(max_length=64, blank=True)
    same_as = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="An earlier run that read the same and found the same; its verdicts stand.",
    )
    sums = models.JSONField(default=list, help_text="Its result in parts (compliance.checks.bulk.sums).")
    children_as = models.ForeignKey(
        "self",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The run under which its restrictions are stored; empty: itself. None had changed.",
    )
    counts = models.JSONField(default=dict)
    told_at = models.DateTimeField(
        null=True, editable=False, help_text="When those responsible were told what is new, if anything was."
    )
    error = models.TextField(blank=True)

    objects = RunQuerySet.as_manager()

    class Meta:
        ordering = ["-as_of", "-id"]
        constraints = [
            models.UniqueConstraint(
                fields=["site"],
                condition=Q(state="running"),
                name="run_one_at_a_time_per_site",
                violation_error_message="This site is being checked at the moment.",
            )
        ]
        indexes = [
            models.Index(fields=["started_at"], name="run_by_start"),
            models.Index(fields=["site", "-as_of", "-id"], condition=Q(state="complete"), name="run_newest_of_site"),
        ]

    def __str__(self) -> str:
        return f"run {self.pk} of {self.site}, {self.as_of:%Y-%m-%d %H:%M} UTC"

    @property
    def reads_of(self) -> int:
        """Id of the run under which the restrictions read are stored: its own, or an earlier one that read the same."""
        return self.children_as_id or self.same_as_id or self.pk

    @property
    def is_stale(self) -> bool:
        """Whether what it read is more than a day old."""
        return timezone.now() - self.as_of > STALE_AFTER

    @property
    def seconds(self) -> float | None:
        """How long it took; None while it runs."""
        return round((self.finished_at - self.started_at).total_seconds(), 1) if self.finished_at else None


class RunRestriction(models.Model):
    """Which child's restriction version a run read, and the type it came down to on which days."""

    run = models.ForeignKey(Run, on_delete=models.CASCADE, related_name="restrictions")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    restriction = models.ForeignKey(Restriction, on_delete=models.PROTECT, related_name="+")
    type = models.ForeignKey("compliance.RestrictionTypeRow", on_delete=models.PROTECT, related_name="+")
    first_day = models.DateField()
    last_day = models.DateField()

    class Meta:
        indexes = [models.Index(fields=["run", "type"])]

    def __str__(self) -> str:
        return f"{self.restriction} in {self.run}"
