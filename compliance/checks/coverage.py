"""How far the plan of a site has been checked: where no run has looked, an empty list of exceptions says nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count, Exists, Max, OuterRef, Q
from django.utils import timezone

from compliance.checks.served import checked, runs_of
from compliance.models import Run
from menus.models import Serving, Site


@dataclass(frozen=True, slots=True)
class Coverage:
    """One site, the newest complete run of the days asked about, their servings, and how many of them were not read.

    `failed_at`: when a later check of the site failed. What it would have read is in nothing that stands.
    """

    site: Site
    run: Run | None
    planned: int
    unchecked: int
    failed_at: datetime | None = None


def coverage(sites: Iterable[Site], first: date, last: date) -> list[Coverage]:
    """Return how far each site has been checked between two days, both included. Three queries.

    The run is the newest that looked at today, or at whichever of the days is nearest: one that looked only further
    ahead is newer and says nothing of today.
    """
    nearest = {site: nearest_day(site, first, last) for site in sites}
    runs = runs_of(nearest, nearest.values())
    read = checked().filter(serving=OuterRef("pk"))
    there = Serving.objects.planned().between(first, last).filter(site__in=nearest).order_by().values_list("site")
    counted = there.annotate(planned=Count("pk"), unread=Count("pk", filter=Q(~Exists(read))))
    counts = {site: (planned, unread) for site, planned, unread in counted}
    failed = _failed_since(nearest)
    return [
        Coverage(site, runs.get((site.pk, day)), *counts.get(site.pk, (0, 0)), failed.get(site.pk))
        for site, day in nearest.items()
    ]


def _failed_since(sites: Iterable[Site]) -> dict[int, datetime]:
    """When the newest check of each site failed, by site; none where that one came to its end."""
    later = Run.objects.complete().filter(site=OuterRef("site"), as_of__gte=OuterRef("as_of"))
    failed = Run.objects.filter(~Exists(later), site__in=sites, state=Run.State.FAILED).order_by()
    return dict(failed.values("site").annotate(at=Max("as_of")).values_list("site", "at"))


def nearest_day(site: Site, first: date, last: date) -> date:
    """Return today on the site's clock, or whichever day between the two is nearest to it."""
    return max(first, min(last, timezone.now().astimezone(site.zone).date()))
