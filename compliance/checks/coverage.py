"""How far the plan of a site has been checked: where no run has looked, an empty list of exceptions says nothing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Exists, OuterRef

from compliance.models import Run, ServedDish
from menus.models import Serving, Site


@dataclass(frozen=True, slots=True)
class Coverage:
    """One site, its newest complete run, and how many of the servings asked about no run has read."""

    site: Site
    run: Run | None
    unchecked: int


def coverage(sites: Iterable[Site], first: date, last: date) -> list[Coverage]:
    """Return how far each site has been checked between two days, both included. Two queries."""
    sites = list(sites)
    runs = {run.site_id: run for run in Run.objects.newest_of_each_site().filter(site__in=sites)}
    read = ServedDish.objects.standing().filter(serving=OuterRef("pk"))
    unread = Serving.objects.planned().between(first, last).filter(~Exists(read), site__in=sites)
    unchecked = dict(unread.order_by().values_list("site").annotate(Count("pk")))
    return [Coverage(site, runs.get(site.pk), unchecked.get(site.pk, 0)) for site in sites]
