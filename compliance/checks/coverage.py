"""How far the plan of a site has been checked: where no run has looked, an empty list of exceptions says nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Exists, OuterRef
from django.utils import timezone

from compliance.models import Run, ServedDish
from menus.models import Serving, Site


@dataclass(frozen=True, slots=True)
class Coverage:
    """One site, the newest complete run of the days asked about, and how many of their servings no run has read."""

    site: Site
    run: Run | None
    unchecked: int


def coverage(sites: Iterable[Site], first: date, last: date) -> list[Coverage]:
    """Return how far each site has been checked between two days, both included. Two queries, where it is one day.

    The run is the newest that looked at today, or at whichever of the days is nearest: one that looked only further
    ahead is newer and says nothing of today.
    """
    sites = list(sites)
    nearest: dict[date, list[Site]] = {}
    for site in sites:
        nearest.setdefault(nearest_day(site, first, last), []).append(site)
    runs = {
        run.site_id: run
        for day, there in nearest.items()
        for run in Run.objects.newest_of_each_site(day).filter(site__in=there)
    }
    read = ServedDish.objects.standing().filter(serving=OuterRef("pk"))
    unread = Serving.objects.planned().between(first, last).filter(~Exists(read), site__in=sites)
    unchecked = dict(unread.order_by().values_list("site").annotate(Count("pk")))
    return [Coverage(site, runs.get(site.pk), unchecked.get(site.pk, 0)) for site in sites]


def nearest_day(site: Site, first: date, last: date) -> date:
    """Return today on the site's clock, or whichever day between the two is nearest to it."""
    return max(first, min(last, timezone.now().astimezone(site.zone).date()))
