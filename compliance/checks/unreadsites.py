"""Sites of which a check would now read other facts than the run that stands: of many in a constant number of queries.

The facts themselves are compared, whatever was noted: a command may have written past the services, and a long import
is through only after the moment at which it recorded its facts.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import lru_cache

from django.utils import timezone

from compliance.checks.bulk.district import inputs_of
from compliance.checks.bulk.larder import read_larder
from compliance.checks.bulk.spans import spans
from compliance.checks.codec import fingerprint, type_json
from compliance.checks.foodstands import all_of, changed, versions_at, versions_of
from compliance.checks.reach import Reach
from compliance.checks.standingrun import standing_runs
from compliance.models import FoodRead, Run, RunRestriction
from compliance.rules.values import RestrictionType
from menus.models import Site
from menus.services.servings import out_of_step

Window = tuple[date, date, date]
"""First and last day of the run that stands, and the site's own today."""


def unread_sites(sites: Iterable[Site], now: datetime) -> set[int]:
    """Return the ids of these sites. A day that was never checked is the schedule's to find.

    Some thirty queries for each different window: one for each hour by which their clocks lie apart, at most.
    """
    by_pk = {site.pk: site for site in sites}
    runs = standing_runs(by_pk.values(), now)
    found = food_unread(runs, now)
    windows: dict[Window, list[Site]] = {}
    for pk, run in runs.items():
        if pk not in found:
            here = now.astimezone(by_pk[pk].zone).date()
            windows.setdefault((run.first_day, run.last_day, here), []).append(by_pk[pk])
    for window, there in windows.items():
        found |= _of_window(there, window, runs, now)
    return found


def unread_changes(site: Site) -> bool:
    """Tell whether a check of the site would now read other facts than the run that stands."""
    return bool(unread_sites([site], timezone.now()))


def food_unread(runs: dict[int, Run], now: datetime) -> set[int]:
    """Return the ids of those sites (of which these runs stand) whose coming days rest on food that has changed."""
    by_food: dict[int | None, set[int]] = {}
    for pk, run in runs.items():
        by_food.setdefault(run.food_id, set()).add(pk)
    foods = FoodRead.objects.filter(pk__in=[pk for pk in by_food if pk])
    differs = changed({food.pk: versions_of(food) for food in foods}, versions_at(now), now)
    products, recipes = all_of(differs.values())
    reach = Reach(products, recipes, now)
    found: set[int] = set()
    for food, change in differs.items():
        if change:
            found |= by_food[food] & reach.sites(change.products, change.recipes)
    return found


def _of_window(sites: Sequence[Site], window: Window, runs: dict[int, Run], now: datetime) -> set[int]:
    first, last, today = window
    found = out_of_step(sites, max(first, today), last)
    read = spans(sites, first, last, now)
    inputs = inputs_of(sites, read, first, last, now, read_larder(now))
    inputs_read = dict(Run.objects.filter(pk__in=[runs[site.pk].pk for site in sites]).values_list("site", "inputs"))
    kept = _restrictions_read([runs[site.pk] for site in sites])
    for site in sites:
        run = runs[site.pk]
        held = {(span.restriction, _key(span.type), span.first, span.last) for span in read[site.pk]}
        differs = any(inputs_read[site.pk].get(name) != value for name, value in inputs[site.pk].items())
        if differs or held != kept.get(run.reads_of, set()):
            found.add(site.pk)
    return found


def _restrictions_read(runs: Sequence[Run]) -> dict[int, set[tuple[int, str, date, date]]]:
    """What the runs read of children, by the id of the run under which it is stored."""
    rows = RunRestriction.objects.filter(run__in={run.reads_of for run in runs})
    found: dict[int, set[tuple[int, str, date, date]]] = {}
    columns = ("run", "restriction", "type__key", "first_day", "last_day")
    for run, restriction, key, first, last in rows.values_list(*columns).iterator():
        found.setdefault(run, set()).add((restriction, key, first, last))
    return found


@lru_cache(maxsize=1 << 14)
def _key(kind: RestrictionType) -> str:
    return fingerprint(type_json(kind))
