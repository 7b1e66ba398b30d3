"""What stands for many sites at one moment: which dish each serving meets, and which run speaks for each day."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import NamedTuple

from django.db.models.functions import Coalesce

from compliance.models import CheckedDay, Run, ServedDish
from menus.models import Site


class Day(NamedTuple):
    """What was judged for one day of a site: the run under which the restrictions stand, and the panel."""

    run: int
    panel: int


@dataclass(slots=True)
class AtSite:
    """What stands at one site."""

    dishes: dict[int, int] = field(default_factory=dict)  # by serving
    dates: dict[int, date] = field(default_factory=dict)  # of the servings
    days: dict[date, Day] = field(default_factory=dict)
    checked: set[date] = field(default_factory=set)  # days on which some serving has been checked


@dataclass(frozen=True, slots=True)
class Stood:
    """What stands for some sites between two days, both included."""

    first: date
    last: date
    only: Collection[int] | None  # servings, where not all are looked at
    sites: dict[int, AtSite]
    kinds: Collection[int] | None = None  # restriction types, by id, where not all are looked at


def stood(
    sites: Iterable[Site],
    first: date,
    last: date,
    only: Collection[int] | None = None,
    runs: Iterable[Run] = (),
    kinds: Collection[int] | None = None,
) -> Stood:
    """Read what stands now. Two queries, whatever the size.

    A serving that was withdrawn since its day was checked counts as it was checked: it is not there any more. `only`:
    ids of the servings to be compared, and `kinds` of the restriction types, where nothing about the others can have
    changed. `runs`: those whose rows are not written to the end.
    """
    found, ours = {site.pk: AtSite() for site in sites}, {run.pk: run for run in runs}
    over: dict[tuple[int, date], datetime | None] = {}
    days = CheckedDay.objects.filter(site__in=found, day__range=(first, last)).annotate(
        reads_of=Coalesce("run__children_as", "run__same_as", "run")
    )
    columns = ("site", "day", "run", "reads_of", "run__panel", "run__finished_at")
    for site, day, run, reads_of, panel, finished_at in days.values_list(*columns):
        known = ours.get(run)
        found[site].days[day] = Day(known.reads_of, known.panel_id or 0) if known else Day(reads_of, panel or 0)
        over[site, day] = finished_at
    served = ServedDish.objects.filter(serving__site__in=found, serving__date__range=(first, last))
    if only is not None:
        served = served.filter(serving__in=only)
    rows = served.values_list("serving", "serving__site", "serving__date", "dish", "serving__withdrawn_at")
    for serving, site, day, dish, withdrawn_at in rows:
        if (site, day) not in over:
            continue
        found[site].checked.add(day)
        until = over[site, day]
        if withdrawn_at is None or (until is not None and withdrawn_at > until):
            found[site].dishes[serving] = dish
            found[site].dates[serving] = day
    return Stood(first, last, only, found, kinds)
