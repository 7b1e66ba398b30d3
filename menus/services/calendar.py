"""Days without meals: what is closed when, recorded and lifted, with the plan brought into step at once."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from menus.models import Closure, CycleMenu, Serving, Site
from menus.services.servings import plan_all
from menus.signals import facts_changed

LONGEST = timedelta(days=366)
"""A closure that lasts longer than a year is a slip of the year."""


class StaleClosure(ValidationError):
    """Somebody changed or lifted the closure meanwhile."""

    def __init__(self, newer: Closure) -> None:
        self.newer = newer
        super().__init__(
            "Nothing was saved: somebody changed this entry of the calendar meanwhile. Look at both and decide again.",
            code="stale",
        )


@dataclass(frozen=True, slots=True)
class Recorded:
    """A closure now on record, and how many dishes it put on the plan or took off it, at all sites together."""

    closure: Closure
    dishes: int


@transaction.atomic
def record_closure(
    *,
    site: Site | None,
    first_day: date,
    last_day: date,
    meals: list[str],
    reason: str,
    recorded_by: Any = None,
    replaces: Closure | None = None,
) -> Recorded:
    """Record a closure of one site (None: of all), or a newer version of one.

    Planned dishes of those days leave the plan at once and come back where the newer version is shorter; dishes
    entered by hand stay, and days gone by stay as they were served. Raises StaleClosure when another version was
    recorded since, ValidationError for days or meals that cannot be. Who may do it is the caller's to see to.
    """
    _refuse_overlong(first_day, last_day)
    closure = Closure(
        site=site,
        first_day=first_day,
        last_day=last_day,
        meals=meals,
        reason=reason.strip(),
        recorded_by=recorded_by,
        replaces=_held(replaces),
    )
    return _recorded(closure)


@transaction.atomic
def lift_closure(closure: Closure, *, recorded_by: Any = None) -> Recorded:
    """Record that meals are served after all. Raises StaleClosure when another version was recorded since."""
    held = _held(closure)
    assert held is not None  # what was given
    said = {name: getattr(held, name) for name in ("site", "first_day", "last_day", "meals", "reason")}
    return _recorded(Closure(**said, withdrawn=True, recorded_by=recorded_by, replaces=held))


def _held(closure: Closure | None) -> Closure | None:
    """The version to be replaced, locked: two who replace the same one must see each other."""
    if closure is None:
        return None
    held = Closure.objects.select_for_update().get(pk=closure.pk)
    newer = Closure.objects.filter(replaces=held).first()
    if newer:
        raise StaleClosure(newer)
    if held.withdrawn:
        raise StaleClosure(held)
    return held


def _recorded(closure: Closure) -> Recorded:
    closure.full_clean()
    closure.save()
    versions = [closure, *([closure.replaces] if closure.replaces else [])]
    for each in versions:  # what was closed elsewhere before is open again
        facts_changed.send(sender=Closure, instance=each)
    first, last = min(each.first_day for each in versions), max(each.last_day for each in versions)
    everywhere = any(each.site_id is None for each in versions)
    sites = None if everywhere else {each.site_id for each in versions if each.site_id}
    return Recorded(closure, _replan(sites, first, last))


def _replan(sites: Collection[int] | None, first: date, last: date) -> int:
    """Bring the plan of those days into step, as far ahead as each site is planned. Returns how many dishes changed."""
    planned = Serving.objects.filter(date__gte=first)
    if sites is not None:
        planned = planned.filter(site__in=sites)
    ahead = dict(planned.order_by("site").values_list("site").annotate(Max("date")))
    # A cycle that waits for a closed week moves whatever follows it, not those days alone.
    moving = set(CycleMenu.objects.filter(site__in=ahead, pauses=True).values_list("site", flat=True))
    together: dict[tuple[date, date], list[Site]] = {}
    # All of them held first, in one order, so that two who close days at once wait for each other and never in a ring.
    for site in Site.objects.select_for_update(no_key=True).filter(pk__in=ahead).order_by("pk"):
        begin = max(first, timezone.now().astimezone(site.zone).date())
        end = ahead[site.pk] if site.pk in moving else min(last, ahead[site.pk])
        if begin <= end:
            together.setdefault((begin, end), []).append(site)
    return sum(plan_all(sites=theirs, first=begin, last=end) for (begin, end), theirs in together.items())


def _refuse_overlong(first_day: date, last_day: date) -> None:
    if last_day - first_day > LONGEST:
        raise ValidationError(
            {"last_day": f"From {first_day} to {last_day} is more than a year. Is the year right? Split it if it is."}
        )
