"""Verdicts: one per dish as prepared and restriction type. Children are joined when somebody looks."""

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

    run = models.ForeignKey("compliance.Run", on_delete=models.CASCADE, related_name="dishes")
    key = models.CharField(max_length=64, help_text="SHA-256 of its evidence.")
    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="+")
    version = models.ForeignKey(
        RecipeVersion,
        null=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="Empty: nobody has recorded what goes into this recipe.",
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["run", "recipe", "key"], name="prepared_dish_unique_in_run")]

    def __str__(self) -> str:
        return f"{self.recipe} as prepared"


class ServedDishQuerySet(models.QuerySet["ServedDish"]):
    """Served dishes by whether they still speak."""

    def standing(self) -> ServedDishQuerySet:
        """Those of the newest complete run that covers their serving."""
        return self.filter(standing=True)

    def at(self, site: Site, first: date, last: date) -> ServedDishQuerySet:
        """Those served at the site between two days, both included."""
        return self.filter(serving__site=site, serving__date__range=(first, last))


class ServedDish(models.Model):
    """A dish as prepared, met by a serving."""

    dish = models.ForeignKey(PreparedDish, on_delete=models.CASCADE, related_name="served")
    serving = models.ForeignKey(Serving, on_delete=models.PROTECT, related_name="served")
    standing = models.BooleanField(default=True, help_text="False once a later run covers the serving.")

    objects = ServedDishQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["serving", "standing"])]

    def __str__(self) -> str:
        return f"{self.dish} for {self.serving}"


class Verdict(models.Model):
    """Outcome and reasons for one dish as prepared and one restriction type. Without a row: absent, nothing to say."""

    dish = models.ForeignKey(PreparedDish, on_delete=models.CASCADE, related_name="verdicts")
    type = models.ForeignKey(RestrictionTypeRow, on_delete=models.PROTECT, related_name="+")
    outcome = models.PositiveSmallIntegerField(choices=OUTCOMES)
    rules = models.CharField(max_length=80, help_text="Ids of the rules that count, the gravest first.")
    findings = models.JSONField(help_text="Every finding with its chain, the gravest first.")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["dish", "type"], name="verdict_once")]
        indexes = [models.Index(fields=["dish", "outcome"])]

    def __str__(self) -> str:
        return f"{self.dish}: {self.type}: {self.get_outcome_display()}"
