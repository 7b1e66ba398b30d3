"""Referrals: questions on the list of licensed staff, and their signed answers."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime, time, timedelta

from django.conf import settings
from django.db import models
from django.db.models import Q, QuerySet

from menus.labels.evidence import BY_WORD, STANDING
from menus.models import Label, Site
from menus.substances.catalogue import Catalogue
from roster.models import Allowance, Child, Restriction, TextureLevel


class ReferralQuerySet(QuerySet["Referral"]):
    """Referrals by state."""

    def waiting(self) -> ReferralQuerySet:
        """Questions without an answer, the most pressing first."""
        return self.filter(answered_at=None, withdrawn_at=None).order_by("needed_by", "subject", "id")

    def standing(self) -> ReferralQuerySet:
        """Without questions taken back, and without answers by which an allowance was signed that is withdrawn since.

        Such an answer settles nothing any more: the same is asked anew.
        """
        return self.filter(withdrawn_at=None).exclude(allowances__withdrawal__isnull=False)

    def about(self, chains: Collection[int]) -> ReferralQuerySet:
        """Those that stand about these restrictions (by their chain), the oldest first."""
        known = Q(restriction__in=chains) | Q(restriction__first__in=chains)
        return self.standing().filter(known).select_related("restriction").order_by("opened_at", "pk")


class Referral(models.Model):
    """One question about one child and one food. Until it is answered, the food is not served to the child."""

    class Answer(models.TextChoices):
        KEEP = "keep", "Keep withholding"
        ALLOW = "allow", "Allow within the scope"

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="referrals")
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="+")
    restriction = models.ForeignKey(Restriction, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    texture = models.ForeignKey(
        TextureLevel,
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="In place of a restriction: the level of texture that the question is about.",
    )
    substance = models.CharField(max_length=60)
    kind = models.CharField(max_length=20, help_text="Kind of evidence that raised the question.")
    about = models.JSONField(help_text="Codes of the substances that the evidence names, sorted; * for anything.")
    term = models.CharField(max_length=120, blank=True, help_text="The lexicon's phrase, where a word is the question.")
    subject = models.CharField(max_length=200, help_text="What the question is about; the same subject is asked once.")
    food = models.CharField(max_length=160)
    question = models.TextField()
    label = models.ForeignKey(Label, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    words = models.TextField(blank=True, help_text="The words on the label that raised it.")
    needed_by = models.DateField(help_text="The first day on which the food is to be served.")
    needed_at = models.DateTimeField(null=True, blank=True, help_text="The moment, where it is known: a treat's.")
    opened_at = models.DateTimeField(auto_now_add=True)
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    withdrawn_at = models.DateTimeField(
        null=True,
        blank=True,
        help_text="When the question fell away: another label, another menu, an end of the restriction.",
    )

    answer = models.CharField(max_length=5, choices=Answer.choices, blank=True)
    answer_note = models.TextField(blank=True)
    answer_ends_on = models.DateField(null=True, blank=True)
    signature = models.CharField(max_length=120, blank=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    answered_at = models.DateTimeField(null=True, blank=True)
    allowances = models.ManyToManyField(Allowance, blank=True, related_name="+")

    objects = ReferralQuerySet.as_manager()

    class Meta:
        ordering = ["-opened_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["restriction", "subject"],
                condition=Q(answered_at=None, withdrawn_at=None),
                name="referral_open_once",
            ),
            models.UniqueConstraint(
                fields=["texture", "subject"],
                condition=Q(answered_at=None, withdrawn_at=None),
                name="referral_of_texture_open_once",
            ),
            models.CheckConstraint(
                condition=Q(restriction__isnull=False, texture=None) | Q(restriction=None, texture__isnull=False),
                name="referral_about_a_restriction_or_a_texture",
            ),
        ]

    @property
    def is_standing(self) -> bool:
        """Whether one answer holds for the child whatever food it is in."""
        return self.kind in STANDING

    @property
    def is_by_word(self) -> bool:
        """Whether that answer holds for one word alone."""
        return self.kind in BY_WORD

    @property
    def can_be_allowed(self) -> bool:
        """Whether there is something to allow it against: a label version, or a standing decision."""
        return self.is_standing or self.label_id is not None

    @property
    def chain(self) -> int:
        """The restriction that it is about, by its first version; 0 for one about a texture."""
        return self.restriction.chain if self.restriction else 0

    @property
    def avoided(self) -> str:
        """What the child avoids, by name; of words that no list holds there is no name yet. Or the level set."""
        if self.texture:
            return self.texture.short
        return Catalogue.load().get(self.substance).name if self.substance else "words that no list holds"

    @property
    def due_at(self) -> datetime:
        """When it has to be answered: the moment of a treat, the morning of a dish of the menu, on the site's clock."""
        return self.needed_at or datetime.combine(self.needed_by, time(settings.SERVING_HOUR), self.site.zone)

    @property
    def passes_at(self) -> datetime:
        """When the food has been served without this child: the moment of a treat, the end of a day of the menu."""
        day_after = self.needed_by + timedelta(days=1)
        return self.needed_at or datetime.combine(day_after, time(), self.site.zone)

    def __str__(self) -> str:
        return f"{self.food} for {self.child}"
