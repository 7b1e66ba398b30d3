"""Allowances: a licensed person's signed, dated, narrow relaxation of one child's restriction."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from menus.labels.evidence import BY_WORD, STANDING, Kind
from menus.models import Label
from menus.models.facts import Fact
from roster.models.child import Child
from roster.models.restriction import Restriction


class AllowanceQuerySet(models.QuerySet["Allowance"]):
    """Allowances by what was recorded."""

    def known(self, at: datetime) -> AllowanceQuerySet:
        """Allowances that were signed by that moment and not withdrawn by then."""
        withdrawn = AllowanceWithdrawal.objects.filter(recorded_at__lte=at)
        return self.filter(recorded_at__lte=at).exclude(pk__in=withdrawn.values("allowance"))


class Allowance(Fact):
    """What licensed staff allow one child, for one kind of evidence about one substance.

    It relaxes one restriction, through its next versions, and ends with it. With a label it covers that label version
    alone, and dies with it. Only a standing decision (highly refined oil, a food that was once counted into the group,
    a word that may hide the substance) needs none, and names the substance; about a word it names the word as well.
    """

    restriction = models.ForeignKey(
        Restriction, on_delete=models.PROTECT, related_name="+", help_text="The version that it was signed against."
    )
    kind = models.CharField(max_length=20, choices=[(kind.value, kind.value) for kind in Kind])
    about = models.CharField(
        max_length=60, blank=True, help_text="The substance that the evidence names. Empty: whatever it names."
    )
    term = models.CharField(
        max_length=120, blank=True, help_text="The lexicon's phrase for the words. Empty: whatever the words."
    )
    label = models.ForeignKey(Label, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    starts_on = models.DateField()
    ends_on = models.DateField()
    signed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")

    objects = AllowanceQuerySet.as_manager()

    class Meta:
        ordering = ["restriction__child", "restriction__substance", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(label__isnull=False)
                | (Q(kind__in=sorted(STANDING)) & ~Q(about="") & (~Q(kind__in=sorted(BY_WORD)) | ~Q(term=""))),
                name="allowance_names_a_label",
                violation_error_message=(
                    "An allowance names the label version it is for; only a standing decision needs none. That names "
                    "the substance, and where it is about a word (“natural flavor”), the word too."
                ),
            ),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="allowance_ends_after_start",
                violation_error_message="An allowance cannot end before it begins.",
            ),
        ]

    @property
    def end(self) -> AllowanceWithdrawal | None:
        """Its withdrawal; None while nobody has withdrawn it."""
        return getattr(self, "withdrawal", None)

    @property
    def child(self) -> Child:
        """Whose restriction it relaxes."""
        return self.restriction.child

    @property
    def child_id(self) -> int:
        """Id of the child."""
        return self.restriction.child_id

    def __str__(self) -> str:
        return f"{self.restriction}, {self.kind}, until {self.ends_on}"


class AllowanceWithdrawal(Fact):
    """Licensed staff take an allowance back. From the moment it is recorded the allowance counts for nothing."""

    allowance = models.OneToOneField(Allowance, on_delete=models.PROTECT, related_name="withdrawal")
    reason = models.TextField()
    withdrawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")

    class Meta:
        ordering = ["-recorded_at", "-id"]

    @property
    def child_id(self) -> int:
        """Id of the child whose restriction counts in full again."""
        return self.allowance.child_id

    def __str__(self) -> str:
        return f"withdrawal of {self.allowance}"
