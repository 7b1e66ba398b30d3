"""Lunchboxes: what a child is to bring from home on a day. A change is a new version of the whole box."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.core.validators import MaxValueValidator
from django.db import models
from django.db.models import Q

from menus.models import Product
from menus.models.facts import Fact, VersionQuerySet
from roster.models.child import Child


class LunchBoxQuerySet(VersionQuerySet["LunchBox"]):
    """Boxes by what was recorded."""

    def planned(self, at: datetime) -> LunchBoxQuerySet:
        """Those known at that moment that are still to be packed."""
        return self.known(at).filter(withdrawn=False)


class LunchBox(Fact):
    """One version of one child's box for one day."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="lunch_boxes")
    day = models.DateField()
    packed_at = models.TimeField(null=True, blank=True, help_text="When it leaves the refrigerator or the stove.")
    eaten_at = models.TimeField(null=True, blank=True)
    kept_at_temperature = models.BooleanField(
        default=False, help_text="With an ice pack in an insulated bag, or hot in a vacuum flask."
    )
    withdrawn = models.BooleanField(default=False, help_text="No box is packed for that day any more.")
    put_together_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")

    objects = LunchBoxQuerySet.as_manager()

    class Meta:
        ordering = ["day", "child", "id"]
        verbose_name_plural = "lunch boxes"

    def __str__(self) -> str:
        return f"lunch box of {self.child} on {self.day}"


class LunchBoxItem(Fact):
    """One food of a box: a household food by its code, a product, or a food by name with what its label says."""

    box = models.ForeignKey(LunchBox, on_delete=models.PROTECT, related_name="items")
    position = models.PositiveSmallIntegerField()
    household = models.CharField(max_length=40, blank=True, help_text="Code as menus.mealpattern.household has it.")
    product = models.ForeignKey(Product, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=160, help_text="As it is called on the label and the list.")
    words = models.TextField(blank=True, help_text="What the package of a food by name says. Empty: no label.")
    seen_on = models.DateField(null=True, blank=True, help_text="The day on which those words were read.")
    home_made = models.BooleanField(default=False)
    form = models.CharField(max_length=40, blank=True, help_text="Code of how it is cut or cooked. Empty: not said.")
    keeps = models.CharField(
        max_length=5, choices=[("cold", "Cold"), ("hot", "Hot"), ("any", "Neither")], blank=True, help_text="Empty: ask"
    )
    texture = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=[MaxValueValidator(7)], help_text="Level as made. Empty: not stated."
    )

    class Meta:
        ordering = ["box", "position"]
        constraints = [
            models.UniqueConstraint(fields=["box", "position"], name="lunch_box_item_position_unique"),
            models.CheckConstraint(
                condition=Q(household="") | Q(product=None),
                name="lunch_box_item_is_one_food",
                violation_error_message="A food is a household food or a product, not both.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
