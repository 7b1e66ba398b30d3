"""Children and where they are enrolled, day by day."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from menus.models import Site
from roster.models.classroom import Classroom


class Child(models.Model):
    """A child. Known by source and source id when a roster file brought it; two children may share a name."""

    given_name = models.CharField(max_length=80)
    family_name = models.CharField(max_length=80)
    birth_date = models.DateField(null=True, blank=True, help_text="Empty: unknown, so the strictest age rules apply.")
    source = models.CharField(max_length=40, blank=True)
    source_id = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ["family_name", "given_name", "id"]
        verbose_name_plural = "children"
        constraints = [
            models.UniqueConstraint(
                fields=["source", "source_id"], condition=~Q(source_id=""), name="child_unique_in_source"
            )
        ]

    @property
    def stay(self) -> Enrolment | None:
        """The present enrolment, or the last; before the first day, the one to come. One query.

        Each begins on the clock of its own site.
        """
        now = timezone.now()
        stays = list(self.enrolments.select_related("classroom__site").order_by("starts_on"))
        begun = [stay for stay in stays if stay.starts_on <= now.astimezone(stay.classroom.site.zone).date()]
        return begun[-1] if begun else next(iter(stays), None)

    def stay_on(self, day: date) -> Enrolment | None:
        """The enrolment of that day; on a day without one, `stay`. One query, or two."""
        there = self.enrolments.filter(pk__in=Enrolment.objects.on(day).values("pk"))
        return there.select_related("classroom__site").order_by("-starts_on").first() or self.stay

    @property
    def site(self) -> Site | None:
        """Where the child is enrolled, or was last; before the first day, where that will be. One query."""
        stay = self.stay
        return stay.classroom.site if stay else None

    @property
    def zone(self) -> ZoneInfo:
        """The clock by which the child's days are counted: its site's, or else the service's own. One query."""
        site = self.site
        return site.zone if site else ZoneInfo(settings.TIME_ZONE)

    @property
    def today(self) -> date:
        """The date where the child is. One query."""
        return timezone.now().astimezone(self.zone).date()

    def __str__(self) -> str:
        return f"{self.given_name} {self.family_name}"


class EnrolmentQuerySet(models.QuerySet["Enrolment"]):
    """Enrolments by day."""

    def on(self, day: date) -> EnrolmentQuerySet:
        """Enrolments that hold on that day, both ends included."""
        return self.during(day, day)

    def during(self, first: date, last: date) -> EnrolmentQuerySet:
        """Enrolments that hold on at least one day between the two, both included."""
        return self.filter(Q(ends_on=None) | Q(ends_on__gte=first), starts_on__lte=last)


class Enrolment(models.Model):
    """A child in a classroom from one day to another, both included."""

    child = models.ForeignKey(Child, on_delete=models.PROTECT, related_name="enrolments")
    classroom = models.ForeignKey(Classroom, on_delete=models.PROTECT, related_name="enrolments")
    starts_on = models.DateField()
    ends_on = models.DateField(null=True, blank=True)

    objects = EnrolmentQuerySet.as_manager()

    class Meta:
        ordering = ["child", "starts_on"]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on=None) | Q(ends_on__gte=F("starts_on")),
                name="enrolment_ends_after_start",
                violation_error_message="An enrolment cannot end before it begins.",
            )
        ]

    def holds_on(self, day: date) -> bool:
        """Tell whether the child is there on that day."""
        return self.starts_on <= day and (self.ends_on is None or day <= self.ends_on)

    def __str__(self) -> str:
        return f"{self.child} in {self.classroom} from {self.starts_on}"
