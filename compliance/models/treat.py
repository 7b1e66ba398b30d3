"""Treat checks: what a teacher asked, and what the answer was. Kept as given."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from menus.models import Label
from menus.models.facts import Fact
from roster.access import reach
from roster.models import Classroom, User


class TreatCheckQuerySet(models.QuerySet["TreatCheck"]):
    """Treat checks by who may see them."""

    def visible_to(self, user: User) -> TreatCheckQuerySet:
        """Checks of the classrooms that the person may look into today, with what a page says of each.

        A post in one classroom opens those since it began: who was there before is no business of a substitute's.
        """
        here = reach(user)
        seen = self.filter(classroom__in=here.classrooms.order_by().values("pk"))
        for classroom, begun in here.began:
            seen = seen.exclude(classroom=classroom, served_at__lt=begun)
        return seen.select_related("classroom__site", "checked_by", "label__product", "label__seen_by")


class TreatCheck(Fact):
    """One answer to “may this food come to my class?”."""

    class Source(models.TextChoices):
        GTIN = "gtin", "Number under the bars"
        PRODUCT = "product", "Seen before"
        PASTED = "pasted", "Label typed or pasted"
        NO_LABEL = "no-label", "No label"

    classroom = models.ForeignKey(Classroom, on_delete=models.PROTECT, related_name="treat_checks")
    served_at = models.DateTimeField(help_text="When the food is to be handed out.")
    source = models.CharField(max_length=8, choices=Source.choices)
    food = models.CharField(max_length=160)
    home_made = models.BooleanField(default=False)
    label = models.ForeignKey(Label, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    checked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    result = models.JSONField(help_text="Children by outcome with every finding, as shown.")

    objects = TreatCheckQuerySet.as_manager()

    class Meta:
        ordering = ["-recorded_at"]

    def __str__(self) -> str:
        return f"{self.food} for {self.classroom}, {self.served_at:%Y-%m-%d %H:%M}"
