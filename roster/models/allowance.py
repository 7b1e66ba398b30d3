"""Allowances: a licensed person's signed, dated, narrow relaxation of one child's restriction."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from menus.labels.evidence import STANDING, Kind
from menus.models import Label
from menus.models.facts import Fact
from roster.models.child import Child
from roster.models.restriction import validate_substance


class AllowanceQuerySet(models.QuerySet["Allowance"]):
    """Allowances by what was recorded."""

    def known(self, at: datetime) -> AllowanceQuerySet:
        """Allowances that were signed by that moment and not withdrawn by then."""
        return self.filter(Q(withdrawn_at=None) | Q(withdrawn_at__gt=at), recorded_at__lte=at)


class Allowance(Fact):
    """What licensed staff allow one child, for one kind of evidence about one substance.

    With a label it covers that label version alone, and dies with it. Only a standing decision (highly refined oil, a
    food that was once counted into the group) needs none, and names the substance.
    """

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="allowances")
    substance = models.CharField(max_length=60, validators=[validate_substance])
    kind = models.CharField(max_length=20, choices=[(kind.value, kind.value) for kind in Kind])
    about = models.CharField(
        max_length=60, blank=True, help_text="The substance that the evidence names. Empty: whatever it names."
    )
    label = models.ForeignKey(Label, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    starts_on = models.DateField()
    ends_on = models.DateField()
    signed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    objects = AllowanceQuerySet.as_manager()

    class Meta:
        ordering = ["child", "substance", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(label__isnull=False) | (Q(kind__in=sorted(STANDING)) & ~Q(about="")),
                name="allowance_names_a_label",
                violation_error_message=(
                    "An allowance names the label version it is for; only a standing decision about one substance "
                    "needs none."
                ),
            ),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="allowance_ends_after_start",
                violation_error_message="An allowance cannot end before it begins.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.child}: {self.substance}, {self.kind}, until {self.ends_on}"
