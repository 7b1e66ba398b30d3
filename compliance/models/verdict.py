"""Verdicts: one code for each dish as prepared and restriction type. Children are joined when somebody looks.

Dishes and their verdicts are told by what is in them. What is the same to the letter is stored once, for all sites and
all nights, and never edited; what a site serves on a day points there.
"""

from __future__ import annotations

from datetime import date

from django.db import models

from compliance.rules.values import Outcome
from menus.models import Recipe, RecipeVersion, Serving, Site

OUTCOMES = [(outcome.value, outcome.words) for outcome in Outcome]


class RestrictionTypeRow(models.Model):
    """A restriction type, stored once: what two children may share of a restriction."""

    key = models.CharField(max_length=64, unique=True, help_text="SHA-256 of the canonical form.")
    substance = models.CharField(max_length=60)
    strictness = models.CharField(max_length=10)
    allowed = models.JSONField(default=list, help_text="Scopes of allowances: [kind, substance, label id, term].")

    def __str__(self) -> str:
        return f"{self.substance} ({self.strictness})"


class PreparedDish(models.Model):
    """A recipe version with the labels it was read from and what the order of work carried over to it."""

    key = models.CharField(max_length=64, unique=True, help_text="SHA-256 of recipe, version and evidence.")
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="+")
    version = models.ForeignKey(
        RecipeVersion,
        null=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Empty: nobody has recorded what goes into this recipe.",
    )
    evidence = models.BinaryField(help_text="Its pieces of evidence with their chains (compliance.checks.packed).")
    made_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return f"{self.recipe} as prepared"


class Panel(models.Model):
    """The restriction types for which dishes were judged together, by one edition of the rules."""

    key = models.CharField(max_length=64, unique=True, help_text="SHA-256 of the edition and the types' keys.")
    edition = models.CharField(max_length=64, help_text="Fingerprint of the rules (compliance.rules.edition).")
    types = models.JSONField(help_text="Ids of the restriction types, in order.")

    def __str__(self) -> str:
        return f"panel {self.pk} of {len(self.types)} restriction types"


class DishVerdicts(models.Model):
    """What one dish as prepared is for each restriction type of one panel. A type that is not in it: nothing to say."""

    dish = models.ForeignKey(PreparedDish, on_delete=models.CASCADE, related_name="verdicts")
    panel = models.ForeignKey(Panel, on_delete=models.CASCADE, related_name="verdicts")
    codes = models.BinaryField(help_text="Ids of restriction types and their codes (compliance.checks.bulk.sparse).")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["dish", "panel"], name="verdicts_once_a_panel")]

    def __str__(self) -> str:
        return f"{self.dish}, {self.panel}"


class ServedDishQuerySet(models.QuerySet["ServedDish"]):
    """Served dishes by place and day."""

    def at(self, site: Site, first: date, last: date) -> ServedDishQuerySet:
        """Those served at the site between two days, both included."""
        return self.filter(serving__site=site, serving__date__range=(first, last))


class ServedDish(models.Model):
    """The dish as prepared that a serving met when its day was last checked. Without a row: not checked."""

    serving = models.OneToOneField(Serving, on_delete=models.PROTECT, related_name="served")
    dish = models.ForeignKey(PreparedDish, on_delete=models.PROTECT, related_name="served")

    objects = ServedDishQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.dish} for {self.serving}"
