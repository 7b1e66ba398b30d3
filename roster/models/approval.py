"""Products that a site has approved for one of its rooms, or for all of them, in place of what the room keeps out."""

from __future__ import annotations

from datetime import date

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from menus.models import Label, Product, Site
from menus.models.facts import Fact
from roster.models.classroom import Classroom


class RoomApprovalQuerySet(models.QuerySet["RoomApproval"]):
    """Approvals by room and day."""

    def standing(self, day: date) -> RoomApprovalQuerySet:
        """Those that hold on that day and were not ended."""
        return self.filter(starts_on__lte=day, ends_on__gte=day, end=None)

    def for_room(self, classroom: Classroom) -> RoomApprovalQuerySet:
        """Those for that room, or for every room of its site."""
        return self.filter(Q(classroom=classroom) | Q(classroom=None), site=classroom.site_id)


class RoomApproval(Fact):
    """One product, as its label stood, that may come to a room. A newer label ends what was approved of the older."""

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="room_approvals")
    classroom = models.ForeignKey(
        Classroom,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="approvals",
        help_text="Empty: every room of the site.",
    )
    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="room_approvals")
    label = models.ForeignKey(
        Label, on_delete=models.PROTECT, related_name="+", help_text="The version that was looked at."
    )
    starts_on = models.DateField()
    ends_on = models.DateField(help_text="Last day. It is asked for anew then.")
    approved_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Of whoever approved it: name and post.")

    objects = RoomApprovalQuerySet.as_manager()

    class Meta:
        ordering = ["product", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="room_approval_ends_after_start",
                violation_error_message="An approval cannot end before it begins.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.product} in {self.classroom or self.site}"

    def clean(self) -> None:
        """A room is one of the site, a label one of the product."""
        if self.classroom and self.classroom.site_id != self.site_id:
            raise ValidationError("This room is at another site. Choose a room of this one, or none for all of them.")
        if self.label.product_id != self.product_id:
            raise ValidationError("This label is of another product. Look at the label of the product itself.")


class RoomApprovalEnd(Fact):
    """The end of an approval before its last day."""

    approval = models.OneToOneField(RoomApproval, on_delete=models.PROTECT, related_name="end")
    reason = models.TextField(help_text="Why it no longer holds.")
    ended_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"end of: {self.approval}"
