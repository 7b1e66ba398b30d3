"""A site: a place where food is prepared or handed to children, with its own clock and its own food law."""

from __future__ import annotations

from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.db import models


class Jurisdiction(models.TextChoices):
    """Whose law says what a label must name."""

    US = "us", "United States"
    EU = "eu", "European Union"
    UK = "uk", "United Kingdom"
    CANADA = "ca", "Canada"
    ANZ = "anz", "Australia and New Zealand"
    CODEX = "codex", "Codex Alimentarius"


def validate_time_zone(name: str) -> None:
    """Refuse a name that is not in the IANA time zone database."""
    if name not in available_timezones():
        raise ValidationError(
            "“%(name)s” is no time zone. Give one as in the IANA list, such as America/Chicago.",
            code="time-zone",
            params={"name": name},
        )


class Site(models.Model):
    """A school, a daycare or a kitchen that cooks for them. Servings happen at a site, on its dates and in its time."""

    code = models.SlugField(unique=True, help_text="Short name used in files, such as elm-street.")
    name = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=64, default="America/Chicago", validators=[validate_time_zone])
    jurisdiction = models.CharField(max_length=5, choices=Jurisdiction.choices, default=Jurisdiction.US)
    nightly_hour = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Hour of the nightly check, site time. Empty: the default."
    )
    airborne = models.BooleanField(
        "steam and flour carry over",
        default=False,
        help_text="In this kitchen, fish steamed or flour thrown up reaches what stands open at the same time.",
    )

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        """The site's clock."""
        return ZoneInfo(self.time_zone)
