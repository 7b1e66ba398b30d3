"""Restrictions: one child, one substance, one strictness, one basis, dated."""

from __future__ import annotations

from datetime import date, datetime

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Exists, OuterRef, Q

from menus.models.facts import Fact
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance
from roster.models.child import Child


class Strictness(models.TextChoices):
    """How far the restriction reaches."""

    TRACE = "trace", "Also possible presence and traces"
    INGREDIENT = "ingredient", "As an ingredient"


class Basis(models.TextChoices):
    """On whose word the restriction rests."""

    STATEMENT = "statement", "Signed medical statement"
    REPORTED = "reported", "Reported, not yet signed"
    RELIGIOUS = "religious", "Religious"
    ETHICAL = "ethical", "Ethical"
    FAMILY = "family", "Family wish"
    POLICY = "policy", "Site policy"


MEDICAL = (Basis.STATEMENT, Basis.REPORTED)


def validate_substance(code: str) -> None:
    """Refuse a code that the catalogue of substances does not hold, suggesting those that come near."""
    try:
        Catalogue.load().get(code)
    except UnknownSubstance as error:
        raise ValidationError(str(error), code="substance") from error


class RestrictionQuerySet(models.QuerySet["Restriction"]):
    """Restrictions by day and by what was recorded."""

    def known(self, at: datetime) -> RestrictionQuerySet:
        """The versions that stood at that moment: recorded by then, and not replaced by then."""
        replaced = Restriction.objects.filter(replaces=OuterRef("pk"), recorded_at__lte=at)
        return self.filter(recorded_at__lte=at).exclude(Exists(replaced))

    def in_force(self, first: date, last: date, at: datetime) -> RestrictionQuerySet:
        """Those known at that moment that hold on at least one day between the two, both included."""
        return self.known(at).filter(
            Q(starts_on=None) | Q(starts_on__lte=last), Q(ends_on=None) | Q(ends_on__gte=first)
        )


class Restriction(Fact):
    """One version of what a child may not have. A change or an end is a new version that replaces this one."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="restrictions")
    substance = models.CharField(max_length=60, validators=[validate_substance])
    strictness = models.CharField(max_length=10, choices=Strictness.choices, default=Strictness.TRACE)
    basis = models.CharField(max_length=10, choices=Basis.choices, default=Basis.REPORTED)
    starts_on = models.DateField(null=True, blank=True, help_text="Empty: from the beginning.")
    ends_on = models.DateField(null=True, blank=True, help_text="Last day. Empty: until somebody ends it.")
    note = models.CharField(max_length=200, blank=True, help_text="The words in which it was reported.")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")

    objects = RestrictionQuerySet.as_manager()

    class Meta:
        ordering = ["child", "substance", "id"]

    def __str__(self) -> str:
        return f"{self.child}: {self.substance} ({self.strictness})"
