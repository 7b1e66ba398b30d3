"""Tests of a day that is under way need it to be neither dawn nor midnight where they play."""

from __future__ import annotations

from django.utils import timezone

from menus.models import Site


def noon_at(site: Site) -> Site:
    """Move the site to where it is between twelve and one o'clock now, on the date that UTC has as well."""
    ahead = 12 - timezone.now().hour
    site.time_zone = f"Etc/GMT{-ahead:+d}" if ahead else "Etc/GMT"  # the names of these zones turn the sign round
    site.save()
    return site
