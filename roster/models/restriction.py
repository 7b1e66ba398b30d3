"""Restrictions: one child, one substance, one strictness, one basis, dated."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import Q

from menus.models.facts import Fact, VersionQuerySet
from menus.models.substance import validate_substance
from roster.kinds.days import SetDays, is_set
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

REMINDERS = (timedelta(days=60), timedelta(days=30), timedelta(days=7))
"""How long before its review a restriction is named on the list of what is due, the longest first."""


class State(models.TextChoices):
    """Where a restriction stands on a day. In every state but the last it protects, and just as strictly."""

    REPORTED = "reported", "Reported"
    RECEIVED = "received", "Statement received"
    REVIEWED = "reviewed", "Reviewed, a better statement asked for"
    IN_FORCE = "in-force", "In force"
    DUE = "due", "Due for review"
    EXPIRED = "expired", "Statement expired"
    ENDED = "ended", "Ended"


class RestrictionQuerySet(VersionQuerySet["Restriction"]):
    """Restrictions by day and by what was recorded."""

    def in_force(self, first: date, last: date, at: datetime) -> RestrictionQuerySet:
        """Those known at that moment that name a substance and hold on some day between the two, both included.

        One that keeps to set days of the calendar counts as a whole: `holds_on` tells the days.
        """
        return self.standing(first, last, at).exclude(substance="")

    def standing(self, first: date, last: date, at: datetime) -> RestrictionQuerySet:
        """As `in_force`, with those that name no substance: no check looks for them, people see to them."""
        return self.known(at).filter(
            Q(starts_on=None) | Q(starts_on__lte=last), Q(ends_on=None) | Q(ends_on__gte=first)
        )


class Restriction(Fact):
    """One version of what a child may not have. A change or an end is a new version that replaces this one."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="restrictions")
    kind = models.CharField(max_length=40, blank=True, help_text="As roster.kinds has it. Empty: not said.")
    substance = models.CharField(
        max_length=60,
        blank=True,
        validators=[validate_substance],
        help_text="Empty: nothing that a check could look for; `told` says what people see to.",
    )
    strictness = models.CharField(max_length=10, choices=Strictness.choices, default=Strictness.TRACE)
    basis = models.CharField(max_length=10, choices=Basis.choices, default=Basis.REPORTED)
    starts_on = models.DateField(null=True, blank=True, help_text="Empty: from the beginning.")
    ends_on = models.DateField(null=True, blank=True, help_text="Last day. Empty: until somebody ends it.")
    days = models.CharField(
        max_length=20, choices=[(each.value, each.words) for each in SetDays], default=SetDays.EVERY
    )
    told = models.CharField(
        max_length=200, blank=True, help_text="What whoever serves the child is told. It names no condition."
    )
    note = models.CharField(max_length=200, blank=True, help_text="The words in which it was reported.")
    statement = models.ForeignKey(
        "roster.Statement", null=True, blank=True, on_delete=models.PROTECT, related_name="restrictions"
    )
    review = models.ForeignKey(
        "roster.Review", null=True, blank=True, on_delete=models.PROTECT, related_name="restrictions"
    )
    review_on = models.DateField(null=True, blank=True, help_text="The day on which its statement runs out.")
    end_reason = models.TextField(blank=True, help_text="Why licensed staff ended it.")
    signature = models.CharField(max_length=120, blank=True, help_text="Of whoever ended it: name and credential.")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    replaces = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT, related_name="replaced_by")
    number = models.PositiveSmallIntegerField(default=1, editable=False)
    first = models.ForeignKey(
        "self",
        null=True,
        editable=False,
        on_delete=models.PROTECT,
        related_name="+",
        help_text="The version that all since then carry on without a break. Empty: this one.",
    )

    objects = RestrictionQuerySet.as_manager()

    class Meta:
        ordering = ["child", "substance", "id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(substance="") | ~Q(told=""),
                name="restriction_says_what_to_avoid",
                violation_error_message=(
                    "A restriction names a substance, or says what whoever serves the child is to see to."
                ),
            )
        ]

    def __str__(self) -> str:
        return f"{self.child}: {self.substance} ({self.strictness})" if self.substance else f"{self.child}: {self.told}"

    @property
    def chain(self) -> int:
        """What the versions of one restriction share: the id of the first.

        A version that takes up again what had ended begins anew, so that nothing signed before comes back with it.
        """
        return self.first_id or self.pk

    @property
    def is_medical(self) -> bool:
        """Whether it rests on a child's health, so that only licensed staff relax or end it."""
        return self.basis in MEDICAL

    def holds_on(self, day: date) -> bool:
        """Tell whether it protects on that day."""
        begun = self.starts_on is None or self.starts_on <= day
        return begun and (self.ends_on is None or day <= self.ends_on) and is_set(SetDays(self.days), day)

    def state_on(self, day: date) -> State:
        """Return where it stands on that day, as far as this version knows. Reads its review, where there is one."""
        if self.ends_on and self.ends_on < day:
            return State.ENDED
        if not self.is_medical:
            return State.IN_FORCE
        if self.review_on and self.review_on <= day:
            return State.EXPIRED
        if self.review is None:
            return State.RECEIVED if self.statement_id else State.REPORTED
        if self.review_on and self.review_on - day <= max(REMINDERS):
            return State.DUE
        return State.REVIEWED if self.review.wanting else State.IN_FORCE

    def has_ended_by(self, day: date) -> bool:
        """Tell whether its last day is behind us on that day."""
        return self.ends_on is not None and self.ends_on < day

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self.replaces:
            self.number = self.replaces.number + 1
            if not self.replaces.has_ended_by(self.recorded_at.astimezone(self.child.zone).date()):
                self.first_id = self.replaces.chain
        super().save(*args, **kwargs)
