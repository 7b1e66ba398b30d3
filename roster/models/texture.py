"""The texture of food and thickness of drink that a signed statement sets for a child, by level number."""

from __future__ import annotations

from datetime import date, datetime

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from menus.mealpattern.textures import Wanted, wanted
from menus.models.facts import Fact, VersionQuerySet
from roster.models.child import Child


class TextureLevelQuerySet(VersionQuerySet["TextureLevel"]):
    """Levels by what was recorded."""

    def standing(self, at: datetime) -> TextureLevelQuerySet:
        """Those known at that moment that set a level: an end is a version too."""
        return self.known(at).filter(ended=False)


class TextureLevel(Fact):
    """One version of the level set for a child. Past its date it goes on holding until licensed staff replace it."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="texture_levels")
    food_level = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(3), MaxValueValidator(7)],
        help_text="3 to 7, as the statement says. Empty: it sets none for food.",
    )
    drink_level = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        validators=[MinValueValidator(0), MaxValueValidator(4)],
        help_text="0 to 4, as the statement says. Empty: it sets none for drink.",
    )
    signatory = models.CharField(max_length=120, blank=True, help_text="Who signed the statement, and as what.")
    signed_on = models.DateField(null=True, blank=True, help_text="The date on the statement.")
    review_on = models.DateField(null=True, blank=True, help_text="The day by which a newer statement is asked for.")
    ended = models.BooleanField(default=False, help_text="No level is set any more.")
    end_reason = models.TextField(blank=True, help_text="Why licensed staff ended it.")
    signature = models.CharField(max_length=120, help_text="Of whoever recorded it: name and credential.")
    recorded_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")

    objects = TextureLevelQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ended=True) | Q(food_level__isnull=False) | Q(drink_level__isnull=False),
                name="texture_level_says_a_level",
                violation_error_message="Give the level for food, for drink, or for both, as the statement says.",
            ),
            models.CheckConstraint(
                condition=Q(ended=True) | (~Q(signatory="") & Q(signed_on__isnull=False) & Q(review_on__isnull=False)),
                name="texture_level_rests_on_a_statement",
                violation_error_message=(
                    "Say who signed the statement, on which day, and by when a newer one is asked for."
                ),
            ),
            models.CheckConstraint(
                condition=Q(ended=False) | ~Q(end_reason=""),
                name="texture_level_end_has_a_reason",
                violation_error_message="Say why no level is set any more.",
            ),
        ]

    def __str__(self) -> str:
        return f"texture level of {self.child}"

    @property
    def asks(self) -> bool:
        """Whether it sets anything but ordinary food and thin drink."""
        return bool(self._asked)

    @property
    def short(self) -> str:
        """The levels that ask for something, by number."""
        return ", ".join(each.named for each in self._asked)

    @property
    def _asked(self) -> tuple[Wanted, ...]:
        return wanted(self.food_level, self.drink_level, None)

    def is_past(self, day: date) -> bool:
        """Tell whether a newer statement should have come by that day."""
        return self.review_on is not None and self.review_on <= day
