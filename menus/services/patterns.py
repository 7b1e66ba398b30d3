"""Say which pattern a meal of a site follows."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from menus.models import SitePattern
from menus.models.site import Site


@transaction.atomic
def set_pattern(
    *,
    site: Site,
    meal: str,
    program: str,
    group: str,
    starts_on: date,
    ends_on: date | None = None,
    recorded_by: AbstractBaseUser | None = None,
) -> SitePattern:
    """Record that a meal of a site follows a pattern from a day on; what held before ends there.

    Raises ValidationError for a program or group that no table holds, and for days that cannot be. Who may do it is
    the caller's to see to.
    """
    said = SitePattern(site=site, meal=meal, program=program, group=group, starts_on=starts_on, ends_on=ends_on)
    said.recorded_by_id = recorded_by.pk if recorded_by else None
    said.full_clean()
    said.save()
    return said
