"""Incidents: what somebody saw, what was on record at that moment, and what was added since."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Exists, Min, OuterRef

from menus.models import Site
from menus.models.facts import Fact
from roster.models import Child

GATHERED_BACK = timedelta(days=2)
"""How far before an incident that which is gathered may lie: its day and the day before, whatever the hour."""


class IncidentQuerySet(models.QuerySet["Incident"]):
    """Incidents by whether they still wait for licensed staff."""

    def with_state(self) -> IncidentQuerySet:
        """Mark each as `is_closed` or not; the open ones first, then the newest."""
        return self.annotate(is_closed=_closed()).order_by(_closed(), "-noticed_at", "-pk")

    def open(self) -> IncidentQuerySet:
        """Those that licensed staff have not closed."""
        return self.exclude(_closed())

    def needed_from(self, site: Site | None = None) -> datetime | None:
        """Return the moment from which on no record may be purged, at the site or anywhere; None: nothing is open.

        One query.
        """
        waiting = self.filter(site=site) if site else self
        earliest: datetime | None = waiting.open().aggregate(earliest=Min("noticed_at"))["earliest"]
        return earliest - GATHERED_BACK if earliest else None


def _closed() -> Exists:
    return Exists(IncidentNote.objects.filter(incident=OuterRef("pk"), closes=True))


class Incident(Fact):
    """What somebody saw. It is never edited: whatever comes to light later is a note beside it."""

    class Kind(models.TextChoices):
        REACTION = "reaction", "A suspected reaction"
        SHARED = "shared", "Food was shared or traded"
        WRONG_FOOD = "wrong-food", "A child got food that was not meant for them"

    kind = models.CharField(max_length=10, choices=Kind.choices)
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="incidents")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="incidents")
    noticed_at = models.DateTimeField(help_text="When it was noticed.")
    seen = models.TextField(help_text="What was seen, in the words of who saw it.")
    food = models.CharField(max_length=200, blank=True, help_text="What the child had eaten or touched, if known.")
    given_by = models.CharField(max_length=200, blank=True, help_text="Where it came from, and who handed it out.")
    opened_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    gathered = models.JSONField(help_text="What was on record of that day and the day before, when it was opened.")
    digest = models.CharField(max_length=64, help_text="SHA-256 of all of it; the record of actions holds it as well.")

    is_closed: bool  # of those read by `with_state`

    objects = IncidentQuerySet.as_manager()

    class Meta:
        ordering = ["-noticed_at", "-id"]
        indexes = [models.Index(fields=["site", "noticed_at"])]

    def __str__(self) -> str:
        return f"incident {self.pk}"


class IncidentNote(Fact):
    """One thing that was added later. `closes`: licensed staff have looked, and nothing more is awaited."""

    incident = models.ForeignKey(Incident, on_delete=models.PROTECT, related_name="notes")
    text = models.TextField()
    closes = models.BooleanField(default=False)
    written_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"note {self.pk} on {self.incident}"
