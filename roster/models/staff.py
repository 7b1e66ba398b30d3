"""People who sign in, and the posts that say what they may see."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import F, Q

from menus.models import Site


class User(AbstractUser):
    """Somebody who may sign in. What they may see follows from their posts alone."""

    sessions_since = models.DateTimeField(
        null=True, blank=True, editable=False, help_text="Sessions begun before it have ended."
    )

    class Meta(AbstractUser.Meta):
        pass

    def __str__(self) -> str:
        return self.get_full_name() or self.username


class Role(models.TextChoices):
    """What somebody is here for. roster.permits says what each role may do."""

    TEACHER = "teacher", "Teacher"
    SUBSTITUTE = "substitute", "Substitute teacher"
    KITCHEN = "kitchen", "Kitchen"
    MANAGER = "manager", "Kitchen manager"
    LICENSED = "licensed", "Licensed staff"
    ADMINISTRATOR = "administrator", "Administrator"
    AUDITOR = "auditor", "Auditor"
    GUARDIAN = "guardian", "Guardian"


IN_ONE_CLASS = (Role.TEACHER, Role.SUBSTITUTE)
AT_ONE_SITE = (Role.KITCHEN, Role.MANAGER)


class PostQuerySet(models.QuerySet["Post"]):
    """Posts by day."""

    def held_on(self, day: date) -> PostQuerySet:
        """Posts that are held on that day, both ends included."""
        return self.filter(Q(starts_on=None) | Q(starts_on__lte=day), Q(ends_on=None) | Q(ends_on__gte=day))


class Post(models.Model):
    """One person's role between two dates: in one classroom, at one site, at every site, or for one child."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="posts")
    role = models.CharField(max_length=13, choices=Role.choices)
    site = models.ForeignKey(
        "menus.Site", null=True, blank=True, on_delete=models.PROTECT, help_text="Empty: all sites."
    )
    classroom = models.ForeignKey("roster.Classroom", null=True, blank=True, on_delete=models.PROTECT)
    child = models.ForeignKey(
        "roster.Child", null=True, blank=True, on_delete=models.PROTECT, related_name="guardianships"
    )
    reads_medical = models.BooleanField(
        default=False, help_text="An administrator to whom the medical text was granted."
    )
    starts_on = models.DateField(null=True, blank=True)
    ends_on = models.DateField(null=True, blank=True)
    source = models.CharField(
        max_length=40, blank=True, help_text="The system whose class list gave the post, and takes it back."
    )

    objects = PostQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=(Q(role__in=IN_ONE_CLASS) & Q(classroom__isnull=False, site__isnull=True))
                | (~Q(role__in=IN_ONE_CLASS) & Q(classroom__isnull=True)),
                name="post_teacher_has_classroom",
                violation_error_message=(
                    "A teacher's post names a classroom, as a substitute's does, and no site beside it; other posts "
                    "name no classroom."
                ),
            ),
            models.CheckConstraint(
                condition=~Q(role__in=AT_ONE_SITE) | Q(site__isnull=False),
                name="post_kitchen_has_site",
                violation_error_message="A kitchen post names its site.",
            ),
            models.CheckConstraint(
                condition=(Q(role=Role.GUARDIAN) & Q(child__isnull=False, site__isnull=True))
                | (~Q(role=Role.GUARDIAN) & Q(child__isnull=True)),
                name="post_guardian_has_child",
                violation_error_message="A guardian's post names the child; other posts name none.",
            ),
            models.CheckConstraint(
                condition=~Q(role=Role.SUBSTITUTE) | Q(starts_on__isnull=False, ends_on=F("starts_on")),
                name="post_substitute_for_one_day",
                violation_error_message="A substitute's post is for one day: it begins and ends on the same date.",
            ),
            models.CheckConstraint(
                condition=Q(role=Role.ADMINISTRATOR) | Q(reads_medical=False),
                name="post_medical_text_granted_to_administrator",
                violation_error_message="Only an administrator is granted the medical text; licensed staff have it.",
            ),
        ]

    @property
    def place(self) -> Site | None:
        """The site of the post, or of its classroom; None for all sites, and for a guardian's."""
        return self.classroom.site if self.classroom else self.site

    @property
    def is_everywhere(self) -> bool:
        """Whether the post is for all sites."""
        return self.place is None and self.role != Role.GUARDIAN

    @property
    def zone(self) -> ZoneInfo:
        """The clock by which its days are counted."""
        return self.place.zone if self.place else ZoneInfo(settings.TIME_ZONE)

    def is_at(self, site: Site) -> bool:
        """Tell whether the post is held at the site, or everywhere."""
        return self.is_everywhere or self.place == site

    def is_held_on(self, day: date) -> bool:
        """Tell whether the post is held on that day, both ends included."""
        return (self.starts_on is None or self.starts_on <= day) and (self.ends_on is None or day <= self.ends_on)

    def __str__(self) -> str:
        return f"{self.user}: {self.get_role_display()}, {self.child or self.classroom or self.site or 'all sites'}"
