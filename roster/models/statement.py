"""Medical statements and what licensed staff found when they read them."""

from __future__ import annotations

from uuid import uuid4

from django.conf import settings
from django.db import models
from django.utils import timezone

from menus.models.facts import Fact
from roster.kinds.signing import may_sign, wanting
from roster.models.child import Child


class Credential(models.TextChoices):
    """The professions that a statement's signatory may have; the codes are those of roster/kinds/data/signers.csv."""

    PRESCRIBER = "prescriber", "May prescribe under State law (physician, in many States nurse practitioner)"
    DIETITIAN = "registered-dietitian", "Registered dietitian"
    OTHER = "other", "Another profession"


class Program(models.TextChoices):
    """Under whose rules the statement is judged."""

    NSLP = "nslp", "School lunch, breakfast and snacks (NSLP, SBP)"
    CACFP = "cacfp", "Child care (CACFP)"


def path_of(statement: models.Model, name: str) -> str:
    """Return where a scan is kept: a name that says nothing and that nobody guesses."""
    return f"statements/{timezone.now():%Y/%m}/{uuid4().hex}"


class Statement(Fact):
    """A signed medical statement as it came in. A better one is a new row that replaces it."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="statements")
    signatory = models.CharField(max_length=120)
    credential = models.CharField(max_length=20, choices=Credential.choices)
    credential_words = models.CharField(max_length=60, blank=True)
    licence_state = models.CharField(max_length=40)
    signed_on = models.DateField()
    program = models.CharField(max_length=5, choices=Program.choices)
    impairment = models.TextField(blank=True)
    accommodate = models.TextField(blank=True)
    omit = models.TextField(blank=True)
    instead = models.TextField(blank=True)
    review_on = models.DateField(help_text="The day on which it runs out.")
    scan = models.FileField(upload_to=path_of, blank=True)
    scan_type = models.CharField(max_length=20, blank=True)
    scan_sha256 = models.CharField(max_length=64, blank=True, help_text="Of the scan before it was encrypted.")
    received_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")

    class Meta:
        ordering = ["-signed_on", "-id"]

    def __str__(self) -> str:
        return f"statement of {self.signed_on} for {self.child}"

    @property
    def signer_must_be_accepted(self) -> bool:
        """Whether the program must accept this profession's signature of that day."""
        return self.credential in {row.signer for row in may_sign(self.program, self.signed_on)}

    @property
    def wanting(self) -> tuple[str, ...]:
        """What a statement must hold by the rules of its program and this one does not, a sentence each."""
        return wanting(self.program, self.credential, self.signed_on, self.parts)

    @property
    def parts(self) -> dict[str, str]:
        """What it says, by the parts of roster/kinds/data/statement_parts.csv."""
        return {name: getattr(self, name) for name in ("impairment", "accommodate", "omit", "instead")}


class Review(Fact):
    """What licensed staff found in a statement. Its clear part holds at once, whatever is wanting."""

    statement = models.ForeignKey(Statement, on_delete=models.PROTECT, related_name="reviews")
    wanting = models.TextField(blank=True, help_text="What a better statement is to say. Empty: nothing is wanting.")
    note = models.TextField(blank=True)
    reviewed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    signature = models.CharField(max_length=120, help_text="Name and credential, as signed.")

    class Meta:
        ordering = ["id"]

    def __str__(self) -> str:
        return f"review of the {self.statement}"
