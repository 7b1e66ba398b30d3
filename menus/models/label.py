"""Label versions: what the package said, who read it and when."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import OuterRef, Subquery

from menus.models.facts import Fact


class LabelQuerySet(models.QuerySet["Label"]):
    """Label versions by time."""

    def current(self, at: datetime) -> LabelQuerySet:
        """The newest version of each product among those recorded by that moment."""
        newest = Label.objects.filter(product=OuterRef("product"), recorded_at__lte=at).order_by("-number")
        return self.filter(recorded_at__lte=at, number=Subquery(newest.values("number")[:1]))


class Label(Fact):
    """One version of what the package says, word for word. A correction is a new version."""

    product = models.ForeignKey("menus.Product", on_delete=models.PROTECT, related_name="labels")
    number = models.PositiveIntegerField()
    ingredients = models.TextField(blank=True)
    contains = models.TextField(blank=True, help_text="The “contains” declaration, if the package has one.")
    precautionary = models.TextField(blank=True, help_text="May contain, shared line, shared facility.")
    claims = models.TextField(blank=True, help_text="Front-of-pack claims. Kept and shown; they clear nothing.")
    supplied = models.TextField(
        blank=True, help_text="The supplier's allergen codes, one a line. On no package; they never stand for a list."
    )
    seen_on = models.DateField(help_text="The day somebody read the package.")
    seen_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    objects = LabelQuerySet.as_manager()

    @property
    def is_read(self) -> bool:
        """Whether somebody read the package: a supplier's data alone are no label."""
        return any((self.ingredients, self.contains, self.precautionary, self.claims))

    class Meta:
        ordering = ["product", "number"]
        constraints = [models.UniqueConstraint(fields=["product", "number"], name="label_version_unique")]

    def __str__(self) -> str:
        return f"label {self.number} of {self.product}"
