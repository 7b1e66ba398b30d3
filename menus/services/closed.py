"""What is not served when: the days of closures, one by one, and the weeks for which a cycle waits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta

from django.db.models import Q

from menus.models import Closure, Site
from menus.models.cycle import monday_of

Closed = Mapping[date, Sequence[Closure]]
"""For each day on which something is not served, what says so."""

WEEK = timedelta(days=7)


def closed_days(closures: Iterable[Closure], first: date, last: date) -> dict[date, list[Closure]]:
    """Return the days between the two, both included, on which something is not served."""
    days: dict[date, list[Closure]] = defaultdict(list)
    for closure in closures:
        for day in days_between(max(first, closure.first_day), min(last, closure.last_day)):
            days[day].append(closure)
    return dict(days)


def closed_by_site(sites: Collection[int], first: date, last: date) -> dict[int, dict[date, list[Closure]]]:
    """Return what is not served between two days, both included, by site (of these ids) and day. One query."""
    found = Closure.objects.newest().between(first, last).filter(Q(site__in=sites) | Q(site=None))
    closures = list(found)
    everywhere = [each for each in closures if each.site_id is None]
    here: dict[int, list[Closure]] = {site: list(everywhere) for site in sites}
    for each in closures:
        if each.site_id is not None:
            here[each.site_id].append(each)
    return {site: closed_days(theirs, first, last) for site, theirs in here.items()}


def closures_at(site: Site, first: date, last: date) -> dict[date, list[Closure]]:
    """Return what is not served at the site between two days, both included, by day. One query."""
    return closed_by_site([site.pk], first, last)[site.pk]


def is_served(closed: Closed, day: date, meal: str) -> bool:
    """Tell whether that meal of the day is served, as far as the calendar says."""
    return not any(meal in closure.meals for closure in closed.get(day, ()))


def closed_weeks(closed: Closed, sittings: Collection[tuple[int, str]]) -> set[date]:
    """Return the Mondays of weeks in which nothing is served of a cycle with dishes on these weekdays and meals."""
    mondays = {monday_of(day) for day in closed}
    return {
        monday
        for monday in mondays
        if sittings and not any(is_served(closed, monday + timedelta(days=weekday), meal) for weekday, meal in sittings)
    }


def days_between(first: date, last: date) -> Iterator[date]:
    """Yield the days from the first to the last, both included."""
    return (first + timedelta(days=n) for n in range((last - first).days + 1))
