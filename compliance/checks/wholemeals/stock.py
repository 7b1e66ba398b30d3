"""How many portions of dishes on hand there are for some days: what other days are planned to take is taken off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from compliance.checks.wholemeals.standing import standing_between
from menus.models import Alternative, Site
from menus.models.alternative import Counted
from menus.models.cycle import SIX_DAYS, monday_of
from menus.planning.meals.table import Stock

Taken = dict[tuple[date, str, int], int]
"""Portions that plans give out, by day, meal and recipe."""


def stocks_of(
    site: Site, alternatives: Iterable[Alternative], first: date, last: date, meal: str = ""
) -> tuple[Stock, ...]:
    """Return what there is for the days between the two, or for one meal of them, of the dishes that are counted."""
    counted = [each for each in alternatives if each.portions is not None]
    spans = [(each, begin, end) for each in counted for begin, end in _spans(each, first, last)]
    beyond = [(begin, end) for _, begin, end in spans if begin < first or end > last or meal]
    taken = _taken(site, min(b for b, _ in beyond), max(e for _, e in beyond)) if beyond else {}
    return tuple(_stock(each, begin, end, first, last, meal, taken) for each, begin, end in spans)


def _spans(entry: Alternative, first: date, last: date) -> Iterator[tuple[date, date]]:
    """Yield the days over which the entry's portions are counted: its own, or those of each week."""
    ends = entry.ends_on or last
    if entry.counted == Counted.ALL:
        yield entry.starts_on, ends
        return
    monday = monday_of(max(first, entry.starts_on))
    while monday <= min(last, ends):
        yield max(monday, entry.starts_on), min(monday + SIX_DAYS, entry.ends_on or monday + SIX_DAYS)
        monday += timedelta(weeks=1)


def _stock(entry: Alternative, begin: date, end: date, first: date, last: date, meal: str, taken: Taken) -> Stock:
    elsewhere = sum(
        count
        for (day, at, recipe), count in taken.items()
        if recipe == entry.recipe_id and begin <= day <= end and not (first <= day <= last and meal in ("", at))
    )
    return Stock(entry.recipe_id, max(0, (entry.portions or 0) - elsewhere), max(begin, first), min(end, last))


def _taken(site: Site, first: date, last: date) -> Taken:
    """What the standing plans of these days give out."""
    return {
        (date.fromisoformat(meal["day"]), meal["meal"], row["recipe"]): row["portions"]
        for meal in standing_between(site, first, last)
        for row in meal["extra"]
    }
