"""People who sign in, and the posts that say what they may see."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q

from menus.models import Site


class User(AbstractUser):
    """Somebody who may sign in. What they may see follows from their posts alone."""

    class Meta(AbstractUser.Meta):
        pass

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class Role(models.TextChoices):
    """The roles of the design."""

    TEACHER = "teacher", "Teacher"
    KITCHEN = "kitchen", "Kitchen"
    LICENSED = "licensed", "Licensed staff"
    ADMINISTRATOR = "administrator", "Administrator"


class PostQuerySet(models.QuerySet["Post"]):
    """Posts by day."""

    def held_on(self, day: date) -> PostQuerySet:
        """Posts that are held on that day, both ends included."""
        return self.filter(Q(starts_on=None) | Q(starts_on__lte=day), Q(ends_on=None) | Q(ends_on__gte=day))


class Post(models.Model):
    """One person's role at one site, in one classroom or everywhere, between two dates."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="posts")
    role = models.CharField(max_length=13, choices=Role.choices)
    site = models.ForeignKey(
        "menus.Site", null=True, blank=True, on_delete=models.PROTECT, help_text="Empty: all sites."
    )
    classroom = models.ForeignKey("roster.Classroom", null=True, blank=True, on_delete=models.PROTECT)
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)

    objects = PostQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(role=Role.TEACHER) & Q(classroom__isnull=False))
                | (~Q(role=Role.TEACHER) & Q(classroom__isnull=True)),
                name="post_teacher_has_classroom",
                violation_error_message="A teacher's post names a classroom; other posts name a site or none.",
            ),
            models.CheckConstraint(
                condition=~Q(role=Role.KITCHEN) | Q(site__isnull=False),
                name="post_kitchen_has_site",
                violation_error_message="A kitchen post names its site.",
            ),
        ]

    @property
    def place(self) -> Site | None:
        """The site of the post, or of its classroom; None for all sites."""
        return self.classroom.site if self.classroom else self.site

    @property
    def is_everywhere(self) -> bool:
        """Whether the post is for all sites."""
        return self.place is None

    @property
    def zone(self) -> ZoneInfo:
        """The clock by which its days are counted."""
        return self.place.zone if self.place else ZoneInfo(settings.TIME_ZONE)

    def is_at(self, site: Site) -> bool:
        """Tell whether the post is held at the site, or everywhere."""
        return self.place is None or self.place == site

    def is_held_on(self, day: date) -> bool:
        """Tell whether the post is held on that day, both ends included."""
        return (self.starts_on is None or self.starts_on <= day) and (self.ends_on is None or day <= self.ends_on)

    def __str__(self) -> str:
        return f"{self.user}: {self.get_role_display()} at {self.classroom or self.site or 'all sites'}"
