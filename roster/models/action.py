"""The record of actions: who did what when, one chain of rows for every site, each row sealed to the one before it."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from menus.models import Site
from menus.models.facts import Fact
from roster.models.child import Child


class Verb(models.TextChoices):
    """What was done."""

    READ = "read", "Read"
    EXPORTED = "exported", "Exported"
    CHECKED = "checked", "Checked"
    ASKED = "asked", "Asked"
    ANSWERED = "answered", "Answered"
    RECORDED = "recorded", "Recorded"
    ENDED = "ended", "Ended"
    SERVED = "served", "Served"
    IMPORTED = "imported", "Imported"
    SIGNED_IN = "signed-in", "Signed in"
    SIGNED_OUT = "signed-out", "Signed out"
    REFUSED = "refused", "Refused"
    PURGED = "purged", "Purged"


class Action(Fact):
    """One entry in one of the chains: there is one for every site, and one for what belongs to no one site.

    `payload` is what was done, as text in one fixed form; its digest is part of the seal, so that a purged entry, whose
    payload is gone, still holds its place in the chain.
    """

    site = models.ForeignKey(Site, null=True, on_delete=models.PROTECT, related_name="actions")
    chain = models.PositiveBigIntegerField(help_text="Id of the site whose chain it stands in; 0: of no one site.")
    number = models.PositiveBigIntegerField(help_text="Its place in the chain, from 1 on.")
    verb = models.CharField(max_length=12, choices=Verb.choices)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        null=True,
        on_delete=models.PROTECT,
        related_name="actions",
        help_text="Empty: nobody.",
    )
    child = models.ForeignKey(Child, null=True, on_delete=models.PROTECT, related_name="actions")
    subject = models.CharField(max_length=80, help_text="What it was done to, such as “label 17”.")
    payload = models.TextField(blank=True)
    digest = models.CharField(max_length=64)
    seal = models.CharField(max_length=64)

    class Meta:
        ordering = ["chain", "number"]
        constraints = [models.UniqueConstraint(fields=["chain", "number"], name="action_number_unique_in_chain")]
        indexes = [
            models.Index(fields=["child", "recorded_at"], name="action_by_child"),
            models.Index(fields=["actor", "recorded_at"], name="action_by_actor"),
        ]

    def __str__(self) -> str:
        return f"{self.get_verb_display()} {self.subject}"


class ChainEnd(models.Model):
    """Where a chain ends: without it, entries cut off at the end would not be missed."""

    chain = models.PositiveBigIntegerField(unique=True)
    number = models.PositiveBigIntegerField(default=0)
    seal = models.CharField(max_length=64, blank=True)
    proof = models.CharField(max_length=64, blank=True)

    def __str__(self) -> str:
        return f"end of chain {self.chain}: {self.number}"
