"""Escalations: who was told that a question is still open as its serving draws near, each step once."""

from __future__ import annotations

from django.db import models

from compliance.models.referral import Referral
from menus.models.facts import Fact


class Step(models.TextChoices):
    """Who is told, in this order."""

    LICENSED = "licensed", "Licensed staff of the site"
    ADMINISTRATOR = "administrator", "Administrators"


class Escalation(Fact):
    """One step for one question. It counts people, and says nothing of child or food."""

    referral = models.ForeignKey(Referral, on_delete=models.PROTECT, related_name="escalations")
    step = models.CharField(max_length=13, choices=Step.choices)
    told = models.PositiveSmallIntegerField(help_text="How many people were mailed. 0: nobody could be reached.")

    class Meta:
        ordering = ["referral", "pk"]
        constraints = [models.UniqueConstraint(fields=["referral", "step"], name="escalation_step_once")]

    def __str__(self) -> str:
        return f"referral {self.referral_id}: {self.get_step_display()}"
