"""A site: a place where food is prepared or handed to children, with its own clock and its own food law."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
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


COUNTRY_OF = {Jurisdiction.US: "US", Jurisdiction.EU: "EU", Jurisdiction.UK: "GB", Jurisdiction.CANADA: "CA"}
"""The country that a food law tells by itself; EU (reserved in ISO 3166-1) stands for any Member State."""


@cache
def countries() -> dict[str, str]:
    """Return the two-letter codes of ISO 3166-1 with their names, as the IANA time zone database lists them."""
    lines = (files("tzdata") / "zoneinfo" / "iso3166.tab").read_text(encoding="utf-8").splitlines()
    return dict(line.split("\t", 1) for line in lines if line and not line.startswith("#"))


def country_codes() -> frozenset[str]:
    """Return the two-letter codes of ISO 3166-1."""
    return frozenset(countries())


def validate_country(code: str) -> None:
    """Refuse what is no country code of ISO 3166-1."""
    if code not in country_codes():
        raise ValidationError(
            "“%(code)s” is no country code of ISO 3166-1. Give two capital letters, such as US, CA, GB or IE.",
            code="country",
            params={"code": code},
        )


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
    country = models.CharField(
        max_length=2,
        blank=True,
        validators=[validate_country],
        help_text="Two letters (ISO 3166-1). Decides the emergency number. Empty: the country of the food law.",
    )
    names_conditions = models.BooleanField(
        "printed lists name conditions",
        default=False,
        help_text="Lists for a room say what each child is to have kept away. Ticked: they name the condition as well.",
    )
    nightly_hour = models.PositiveSmallIntegerField(
        null=True, blank=True, help_text="Hour of the nightly check, site time. Empty: the default."
    )
    airborne = models.BooleanField(
        "steam and flour carry over",
        default=False,
        help_text="In this kitchen, fish steamed or flour thrown up reaches what stands open at the same time.",
    )

    forms_to = models.CharField(
        "where families hand forms in",
        max_length=200,
        blank=True,
        help_text="Printed on the paper form, such as: the nurse's office, room 4. Empty: a line to write on.",
    )
    nondiscrimination = models.TextField(
        "nondiscrimination statement",
        blank=True,
        help_text="The program's own text, printed on the paper form as it stands. Empty: it is left out.",
    )

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def country_code(self) -> str:
        """The country as said here, or else as the food law tells it; empty when neither does."""
        return self.country or COUNTRY_OF.get(Jurisdiction(self.jurisdiction), "")

    @property
    def zone(self) -> ZoneInfo:
        """The site's clock."""
        return ZoneInfo(self.time_zone)
