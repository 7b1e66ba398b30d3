"""What guardians send in about their own child, and what licensed staff answer."""

from __future__ import annotations

from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from menus.models.facts import Fact
from roster.models.child import Child
from roster.models.restriction import Basis, Restriction, Strictness


class Asks(models.TextChoices):
    """What a guardian asks for."""

    AVOID = "avoid", "To keep foods away"
    CORRECT = "correct", "To correct what is on record"
    END = "end", "To take something off the record"


GROUNDS = (Basis.REPORTED, Basis.RELIGIOUS, Basis.ETHICAL, Basis.FAMILY)
"""Why a family asks. What rests on health is reported until a signed statement is held."""


def path_of(entry: models.Model, name: str) -> str:
    """Return where a paper is kept: a name that says nothing and that nobody guesses."""
    return f"guardians/{timezone.now():%Y/%m}/{uuid4().hex}"


class GuardianEntry(Fact):
    """One form as a guardian signed and sent it. What it adds protects at once; it takes nothing away."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="guardian_entries")
    sent_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asks = models.CharField(max_length=7, choices=Asks.choices)
    about = models.ForeignKey(
        Restriction,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The version that a correction or an end is asked for. Empty: something else on record.",
    )
    basis = models.CharField(
        max_length=10, choices=Basis.choices, blank=True, help_text="Why; empty where only a way of eating is named."
    )
    strictness = models.CharField(max_length=10, choices=Strictness.choices, default=Strictness.TRACE)
    substances = models.JSONField(default=list, blank=True, help_text="Codes of the foods that were ticked.")
    kinds = models.JSONField(default=list, blank=True, help_text="Codes of the ways of eating that were ticked.")
    words = models.TextField(blank=True, help_text="Further foods, or what is asked for, as the guardian wrote it.")
    milk_reason = models.TextField(blank=True, help_text="Why another drink is asked for in place of milk.")
    instead = models.TextField(blank=True, help_text="What the family proposes to offer instead.")
    contact = models.CharField(max_length=200, blank=True)
    language = models.CharField(max_length=2, help_text="In which language the form was filled in.")
    signature = models.CharField(max_length=120, help_text="The guardian's name, as signed.")
    scan = models.FileField(upload_to=path_of, blank=True)
    scan_type = models.CharField(max_length=20, blank=True)
    scan_sha256 = models.CharField(max_length=64, blank=True, help_text="Of the paper before it was encrypted.")
    restrictions = models.ManyToManyField(
        Restriction, blank=True, related_name="+", help_text="The versions that protected because of it, or already."
    )

    class Meta:
        ordering = ["-recorded_at", "-id"]
        verbose_name_plural = "guardian entries"
        constraints = [
            models.CheckConstraint(
                condition=Q(asks=Asks.AVOID) | ~Q(words=""),
                name="guardian_entry_says_what_is_asked",
                violation_error_message="A request says in words what is asked for.",
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_asks_display()}, for {self.child}"


class GuardianAnswer(Fact):
    """What licensed staff made of an entry. The guardian reads `told`; the note stays with licensed staff."""

    entry = models.OneToOneField(GuardianEntry, on_delete=models.PROTECT, related_name="answer")
    told = models.TextField(help_text="What the guardian reads.")
    note = models.TextField(blank=True, help_text="For licensed staff alone.")
    answered_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"answer to: {self.entry}"
