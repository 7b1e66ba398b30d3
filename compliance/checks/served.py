"""Servings as last checked: the dish as prepared that each met, and the run that speaks for its day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery

from compliance.models import CheckedDay, DishVerdicts, Run, ServedDish
from menus.models import Serving, Site


@dataclass(frozen=True, slots=True)
class Served:
    """One serving with what stands for it now."""

    serving: Serving
    dish: int  # id of the dish as prepared
    run: Run  # the newest complete run that looked at the day, with its panel
    codes: bytes | None  # the verdicts for that panel; None: it was not judged for it


def checked() -> QuerySet[ServedDish]:
    """Return what stands for servings on days that a run speaks for; of any other nothing is known."""
    spoken_for = CheckedDay.objects.filter(site=OuterRef("serving__site"), day=OuterRef("serving__date"))
    return ServedDish.objects.filter(Exists(spoken_for))


def checked_servings(site: Site, first: date, last: date) -> set[int]:
    """Return the ids of the site's servings between two days, both included, that have been checked. One query."""
    there = checked().filter(serving__site=site, serving__date__range=(first, last))
    return set(there.values_list("serving", flat=True))


def served(servings: QuerySet[Serving]) -> list[Served]:
    """Return these servings, each with the run that speaks for its day and what was found. Two queries.

    One that has not been checked, or on a day that no run speaks for, is left out. What the runs read is not loaded.
    """
    verdicts = DishVerdicts.objects.filter(dish=OuterRef("served__dish"), panel=OuterRef("panel"))
    told = (
        servings.filter(site__checked_days__day=F("date"), served__gt=0)
        .annotate(run=F("site__checked_days__run"), panel=F("site__checked_days__run__panel"))
        .annotate(dish=F("served__dish"), codes=Subquery(verdicts.values("codes")[:1]))
        .select_related("recipe")
        .order_by()
    )
    found = list(told)
    runs = Run.objects.select_related("panel", "site").defer("inputs", "counts", "sums")
    by_id = runs.in_bulk({serving.run for serving in found}) if found else {}
    for serving in found:
        serving.site = by_id[serving.run].site
    return [Served(each, each.dish, by_id[each.run], each.codes) for each in found]


def runs_of(sites: Iterable[Site], days: Iterable[date]) -> dict[tuple[int, date], Run]:
    """Return the run that speaks for each of these days of these sites, by site and day. One query."""
    spoken = CheckedDay.objects.filter(site__in=sites, day__in=set(days)).select_related("run")
    return {(each.site_id, each.day): each.run for each in spoken.defer("run__inputs", "run__sums")}
