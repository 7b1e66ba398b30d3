"""The choice with the least extra work, proven by HiGHS.

Days share nothing but what is counted out over them and the weekly limits of children. So the days are first chosen
for one by one (with what could run out, together). Where no limit is passed by that, nothing better is possible; only
the weeks where one is are chosen for again as a whole, from there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from time import monotonic

from menus.planning.meals.kinds import alike, begun
from menus.planning.meals.linked import Options, binding, linked, meals_of, options_of, scarce
from menus.planning.meals.part import Part
from menus.planning.meals.plan import (
    AIMS,
    BEYOND,
    COST,
    DISHES,
    LIMITS,
    OPEN,
    PORTIONS,
    UNMET,
    Given,
    Level,
    Meals,
    tally,
)
from menus.planning.meals.plan import lapsed as lapsed_in
from menus.planning.meals.table import Meal, Stock, Task, Week

DAY_BY_DAY = (UNMET, OPEN, DISHES, PORTIONS, COST)
WEEK_BY_WEEK = (LIMITS, BEYOND, DISHES, PORTIONS, COST)

Found = tuple[tuple[Given, ...], dict[int, Level]]
"""The trays of some meals, and the level reached of each aim that was searched for."""


def choose(task: Task, seconds: float) -> Meals:
    """Return the choice with the fewest children left without a whole meal, and then the least extra work.

    Each level says whether it is proven, or how far off the least may be when the seconds ran out.
    """
    until = monotonic() + seconds
    stocks = scarce(task)
    options = options_of(task, stocks)
    weeks = binding(task, options)
    alone = linked(task.meals, stocks)
    share = seconds / 2 if weeks else seconds
    parts = list(zip(alone, _each(alone, options, stocks, monotonic() + share), strict=True))
    again = [
        (meals, held, mine)
        for meals in (linked(task.meals, stocks, weeks) if weeks else ())
        if (mine := [part for part in parts if part[0][0] in meals])
        and (held := [week for week in weeks if meals_of(week, meals)])
        and lapsed_in([given for _, (rows, _) in mine for given in rows], held)
    ]
    found = [part for part in parts if not any(part[0][0] in meals for meals, _, _ in again)]
    for place, (meals, held, mine) in enumerate(again):
        left = max(until - monotonic(), 0.05) / (len(again) - place)
        found.append((meals, _together(meals, options, stocks, held, [each for _, each in mine], left)))
    found.sort(key=lambda part: task.meals.index(part[0][0]))
    given = tuple(given for _, (rows, _) in found for given in rows)
    levels = [_summed(aim, [levels for _, (_, levels) in found]) for aim in range(len(AIMS))] if found else []
    counted = tally(given, task.weeks)
    return Meals(given, task.weeks, tuple(_in_the_end(*each) for each in zip(levels, counted, strict=False)))


def _in_the_end(level: Level, value: int) -> Level:
    """The level as the trays have it: the search for a later aim may have come nearer to one that was not proven."""
    return replace(level, value=value, bound=min(value, level.bound), proven=level.proven or value <= level.bound)


def _each(parts: Sequence[list[Meal]], options: Options, stocks: Sequence[Stock], until: float) -> Iterable[Found]:
    """Each part by itself, limits left aside."""
    for place, meals in enumerate(parts):
        left = max(until - monotonic(), 0.05) / (len(parts) - place)
        yield Part(meals, options, stocks).find(left, DAY_BY_DAY, {}, {})


def _together(
    meals: list[Meal],
    options: Options,
    stocks: Sequence[Stock],
    weeks: Iterable[Week],
    alone: Sequence[Found],
    seconds: float,
) -> Found:
    """Parts again as one, weekly limits among the aims: no child loses a whole meal for the sake of one."""
    reached = [_summed(aim, [levels for _, levels in alone]) for aim in (UNMET, OPEN)]
    start = {
        (given.meal.day, given.meal.name, given.group.key, member): given.tray
        for rows, _ in alone
        for given in rows
        for member in given.members
    }
    kinds = [alike(week, meals_of(week, meals), options, stocks) for week in weeks]
    for kind in kinds:
        start |= begun(kind, meals_of(kind[0], meals), start, stocks)
    before = {UNMET: reached[0].value, OPEN: reached[1].value}
    rows, levels = Part(meals, options, stocks, kinds).find(seconds, WEEK_BY_WEEK, before, start)
    return rows, {UNMET: reached[0], OPEN: reached[1], **levels}


def _summed(aim: int, levels: Sequence[dict[int, Level]]) -> Level:
    """One level for all parts: what each reached, added up. What no part had to search for is nothing, and proven."""
    there = [each[aim] for each in levels if aim in each]
    return Level(
        AIMS[aim],
        sum(each.value for each in there),
        sum(each.bound for each in there),
        all(each.proven for each in there),
    )
