"""What a class did at its table: what was handed out or handled there, and what was washed."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from compliance.models.treat import TreatCheck
from menus.models.facts import Fact
from roster.models import Classroom


class TableEvent(Fact):
    """One record of a class: a food, play dough or bird seed that came to its table, or a washing of table or hands."""

    class Kind(models.TextChoices):
        HANDED_OUT = "handed-out", "Handed out or handled"
        WASHED = "washed", "Washed"

    class Place(models.TextChoices):
        TABLE = "table", "The class table"
        HANDS = "hands", "The children's hands"

    classroom = models.ForeignKey(Classroom, on_delete=models.PROTECT, related_name="table_events")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    check_made = models.ForeignKey(
        TreatCheck, null=True, blank=True, on_delete=models.PROTECT, related_name="table_events"
    )
    place = models.CharField(max_length=5, choices=Place.choices, blank=True)
    method = models.CharField(max_length=40, blank=True, help_text="Code of the cleaning method.")
    happened_at = models.DateTimeField()
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["happened_at", "id"]
        indexes = [models.Index(fields=["classroom", "happened_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(kind="handed-out", check_made__isnull=False, place="", method="")
                | (Q(kind="washed", check_made__isnull=True) & ~Q(place="") & ~Q(method="")),
                name="table_event_names_food_or_washing",
                violation_error_message="Say which checked food was handed out, or what was washed and how.",
            ),
            models.CheckConstraint(
                condition=Q(happened_at__lte=F("recorded_at")),
                name="table_event_lies_behind",
                violation_error_message="A record says what was done, not what is to come.",
            ),
        ]

    def __str__(self) -> str:
        what = self.check_made.food if self.check_made else f"{self.get_place_display()}: {self.method}"
        return f"{self.get_kind_display()}, {what}, {self.happened_at:%Y-%m-%d %H:%M} UTC"
