"""Reminders of statements that run out: counts for licensed staff as each date draws near, in the mail of the night."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Max

from compliance.models import Run
from menus.models import Site
from roster.life.due import Due, Why, due
from roster.models import Child, Enrolment
from roster.models.restriction import REMINDERS

THRESHOLDS = sorted([*(term.days for term in REMINDERS), 0], reverse=True)


@dataclass(frozen=True, slots=True)
class Reminder:
    """What runs out at one site, in numbers."""

    site: Site
    near: int  # statements that came within one of the terms, or ran out, since the last night
    expired: int  # of these
    waiting: int  # restrictions that wait for a paper or a look in all


def reminders(nights: Iterable[Run]) -> dict[int, Reminder]:
    """Return what came as near as 60, 30, 7 days or ran out since the night that was last told, by site.

    A night that is repeated tells nothing twice; one that was missed is made up by the next. Two queries for each
    moment as of which sites were checked, and one more.
    """
    runs = list(nights)
    told = _last_told(runs)
    together: dict[tuple[date, datetime], list[Run]] = {}
    for run in runs:
        together.setdefault((_day(run.as_of, run.site), run.as_of), []).append(run)
    found: dict[int, Reminder] = {}
    for (day, at), of_day in together.items():
        waiting = _waiting([run.site_id for run in of_day], day, at)
        for run in of_day:
            here = waiting.get(run.site_id, [])
            last = _day(told[run.site_id], run.site) if run.site_id in told else day - timedelta(days=1)
            near = [each for each in here if crossed(each, last)]
            if near:
                expired = sum(each.why == Why.EXPIRED for each in near)
                found[run.site_id] = Reminder(run.site, len(near), expired, len(here))
    return found


def crossed(each: Due, last: date) -> bool:
    """Tell whether it came within one of the terms after that day."""
    left = each.days_left
    if left is None:
        return False
    then = left + (each.day - last).days
    return any(left <= threshold < then for threshold in THRESHOLDS)


def _waiting(sites: list[int], day: date, at: datetime) -> dict[int, list[Due]]:
    """What is due at each site, for the children who attend it on that day."""
    enrolled = Enrolment.objects.during(day, day).filter(classroom__site__in=sites)
    found: dict[int, list[Due]] = {}
    every = due(Child.objects.filter(pk__in=enrolled.values("child")), day, at)
    places: dict[int, set[int]] = {}
    of_these = enrolled.filter(child__in={each.version.child_id for each in every})
    for child, site in of_these.values_list("child", "classroom__site"):
        places.setdefault(child, set()).add(site)
    for each in every:
        for site in places[each.version.child_id]:
            found.setdefault(site, []).append(each)
    return found


def _last_told(runs: list[Run]) -> dict[int, datetime]:
    """The moment as of which each site was checked by the last night that was told."""
    nights = Run.objects.complete().filter(trigger=Run.Trigger.NIGHT, site__in={run.site_id for run in runs})
    told = nights.exclude(told_at=None).exclude(pk__in=[run.pk for run in runs])
    return dict(told.order_by().values_list("site").annotate(Max("as_of")))


def _day(moment: datetime, site: Site) -> date:
    return moment.astimezone(site.zone).date()
