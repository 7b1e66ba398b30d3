"""Files of health records as they came in, whose they are, and what in them waits for licensed staff."""

from __future__ import annotations

from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils import timezone

from menus.models.facts import Fact
from roster.models.child import Child
from roster.models.restriction import Restriction


def path_of(record: models.Model, name: str) -> str:
    """Return where a file is kept: a name that says nothing and that nobody guesses."""
    return f"health/{timezone.now():%Y/%m}/{uuid4().hex}"


class Finding(models.TextChoices):
    """What one entry of a health record comes to."""

    NEW = "new", "Protects from when it is taken over"
    KNOWN = "known", "On record already"
    UNKNOWN = "unknown", "Not in our lists: kept away as told, and a question"
    END = "end", "Says that it is over or not so: a proposal"
    REVIEW = "review", "To be looked at"
    NOTHING = "nothing", "Says that no allergy is known"
    NOT_FOOD = "not-food", "Not food: not taken over"
    UNMATCHED = "unmatched", "No child found"
    UNREADABLE = "unreadable", "Could not be read"


class HealthRecord(Fact):
    """One file of health records, as it came in."""

    file = models.FileField(upload_to=path_of)
    sha256 = models.CharField(max_length=64, help_text="Of the file before it was encrypted.")
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Empty: a command brought it.",
    )

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return f"health record {self.pk}"


class HealthMatch(Fact):
    """A person's word that a patient of the file is that child. The newest holds."""

    record = models.ForeignKey(HealthRecord, on_delete=models.PROTECT, related_name="matches")
    patient = models.CharField(max_length=300, help_text="As the file refers to the patient.")
    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="+")
    confirmed_by = models.ForeignKey(settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.child} in {self.record}"


class HealthItem(Fact):
    """What a file says and nobody may act on but licensed staff. It changes nothing by itself."""

    record = models.ForeignKey(HealthRecord, on_delete=models.PROTECT, related_name="items")
    place = models.CharField(max_length=60, help_text="Where it stands in the file.")
    finding = models.CharField(max_length=10, choices=Finding.choices)
    child = models.ForeignKey(Child, null=True, on_delete=models.PROTECT, related_name="+")
    restriction = models.ForeignKey(
        Restriction, null=True, on_delete=models.PROTECT, related_name="+", help_text="What it speaks of, if on record."
    )
    words = models.CharField(max_length=200, help_text="What the record names.")
    said = models.TextField(help_text="What it says, in a sentence.")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"{self.get_finding_display()}: {self.place or 'the file'}"


class HealthItemSeen(Fact):
    """That licensed staff saw to an item."""

    item = models.OneToOneField(HealthItem, on_delete=models.PROTECT, related_name="seen")
    note = models.TextField(blank=True, help_text="What was found or done.")
    seen_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"seen: {self.item}"
