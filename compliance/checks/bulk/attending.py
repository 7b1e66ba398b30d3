"""On which days of a window something holds, as a number: bit n stands for the n-th day after the first."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any

from django.db.models import QuerySet

from compliance.models import RunRestriction
from roster.models import Enrolment, Restriction

There = dict[tuple[int, int], int]
"""The days on which a child attends a site, by the ids of both."""


def days_between(begin: date | None, end: date | None, first: date, last: date) -> int:
    """Return the days from begin to end that lie in the window; None: without begin, without end."""
    low = max((begin - first).days, 0) if begin else 0
    high = min((end - first).days if end else (last - first).days, (last - first).days)
    return ((1 << (high - low + 1)) - 1) << low if low <= high else 0


def day_of(day: date, first: date) -> int:
    """Return one day."""
    return 1 << (day - first).days


def first_of(days: int) -> int:
    """Return how many days after the first day of the window the first of these days lies."""
    return (days & -days).bit_length() - 1


def there(sites: Collection[int], first: date, last: date, only: QuerySet[RunRestriction] | None = None) -> There:
    """Return the days on which children with any restriction, or with one of `only`, attend the sites. One query."""
    wanted: QuerySet[Any] = Restriction.objects.all() if only is None else only
    enrolled = Enrolment.objects.during(first, last).filter(
        classroom__site__in=sites, child__in=wanted.order_by().values("child")
    )
    found: There = {}
    for site, child, begin, end in enrolled.values_list("classroom__site", "child", "starts_on", "ends_on"):
        found[site, child] = found.get((site, child), 0) | days_between(begin, end, first, last)
    return found
