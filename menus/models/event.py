"""What was really done in a kitchen: one line a deed, written once, corrected only by a further line."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from functools import reduce
from operator import or_

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from menus.models.facts import Fact
from menus.models.kitchen import PlanStep, Surface
from menus.models.product import Product
from menus.models.serving import Serving
from menus.models.site import Site

LATE = timedelta(minutes=15)
"""A record made longer than this after the deed is shown as entered late. It counts all the same."""


class Deed(models.TextChoices):
    """What was done."""

    USE = "use", "Used"
    LEFT_OUT = "left-out", "Left out"
    CLEAN = "clean", "Cleaned"
    TOUCH = "touch", "Touched another surface"
    COVER = "cover", "Covered or set apart"
    OPEN = "open", "Opened for service"
    TRAVEL = "travel", "Sent off"
    SWAP = "swap", "Product swapped"
    LEFTOVER = "leftover", "Leftovers used"
    UNDO = "undo", "Taken back"


NAMES: dict[str, set[str]] = {
    Deed.USE: {"surface", "serving"},
    Deed.LEFT_OUT: {"surface", "serving", "step"},
    Deed.CLEAN: {"surface", "method"},
    Deed.TOUCH: {"surface", "other_surface"},
    Deed.COVER: {"serving"},
    Deed.OPEN: {"surface"},
    Deed.TRAVEL: {"surface"},
    Deed.SWAP: {"serving", "product_out", "product_in"},
    Deed.LEFTOVER: {"serving", "batch"},
    Deed.UNDO: {"corrects"},
}
"""What a record of each kind names. Beside these any may name a step of the plan and the record that it corrects."""

THINGS = ("surface", "other_surface", "serving", "product_out", "product_in", "batch", "step", "corrects")
MAY_NAME = {"step", "corrects"}


def _shape(kind: str) -> Q:
    """The columns of a record of that kind: what it names is filled in, the rest is empty."""
    names = NAMES[kind]
    shape = Q(kind=kind) & (~Q(method="") if "method" in names else Q(method=""))
    for thing in THINGS:
        if thing in names or thing not in MAY_NAME:
            shape &= Q(**{f"{thing}__isnull": thing not in names})
    return shape


class KitchenEventQuerySet(models.QuerySet["KitchenEvent"]):
    """Records by what was known."""

    def known(self, at: datetime, since: datetime) -> KitchenEventQuerySet:
        """Those recorded between two moments: all that happened since the first of them, with their corrections."""
        return self.filter(recorded_at__range=(since, at))


class KitchenEvent(Fact):
    """One record: what was done, to what, when, by whom.

    `happened_at` is when it was done and decides the order; `recorded_at` is when somebody said so. A record that names
    a step of the plan stands in that step's place on that day.
    """

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="kitchen_events", help_text="The kitchen.")
    kind = models.CharField(max_length=8, choices=Deed.choices)
    happened_at = models.DateTimeField(help_text="When it was done; decides the order.")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    step = models.ForeignKey(
        PlanStep,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="events",
        help_text="The step of the plan in whose place it stands on that day.",
    )
    surface = models.ForeignKey(Surface, null=True, blank=True, on_delete=models.PROTECT, related_name="events")
    other_surface = models.ForeignKey(Surface, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    serving = models.ForeignKey(
        Serving,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="kitchen_events",
        help_text="The dish; in a central kitchen any serving of the batch stands for all of them.",
    )
    method = models.CharField(max_length=40, blank=True, help_text="Code of the cleaning method.")
    product_out = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    product_in = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    whole = models.BooleanField(default=False, help_text="No portion holds the product that ran out.")
    batch = models.ForeignKey(
        Serving,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The earlier serving whose leftovers were used.",
    )
    note = models.CharField(max_length=200, blank=True)
    token = models.UUIDField(
        null=True, blank=True, unique=True, help_text="Of the form it was sent with: sent twice, it is kept once."
    )
    corrects = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="corrected_by"
    )

    objects = KitchenEventQuerySet.as_manager()

    class Meta:
        ordering = ["happened_at", "id"]
        indexes = [models.Index(fields=["site", "recorded_at"])]
        constraints = [
            models.CheckConstraint(
                condition=Q(happened_at__lte=F("recorded_at")),
                name="kitchen_event_lies_behind",
                violation_error_message="A record says what was done, not what is to come. Give a time that is past.",
            ),
            models.CheckConstraint(
                condition=reduce(or_, map(_shape, NAMES)),
                name="kitchen_event_names_what_its_kind_needs",
                violation_error_message="This record does not name what a record of its kind names.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.surface or self.serving or ''} {self.happened_at:%Y-%m-%d %H:%M} UTC"

    @property
    def is_late(self) -> bool:
        """Whether it was entered long after it was done."""
        return self.recorded_at - self.happened_at > LATE


def standing(events: Iterable[KitchenEvent]) -> list[KitchenEvent]:
    """Return the records that count: neither corrected by one that counts, nor mere taking back.

    `events` holds every correction of those in it. When a correction is itself taken back, what it corrected counts.
    """
    rows = list(events)
    correction = {event.corrects_id: event for event in rows if event.corrects_id}

    def counts(event: KitchenEvent) -> bool:
        later = correction.get(event.pk)
        return later is None or not counts(later)

    return [event for event in rows if event.kind != Deed.UNDO and counts(event)]
