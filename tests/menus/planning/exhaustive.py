"""Every order of work of a small kitchen, one after the other, each judged by the kitchen's engine.

Written apart from the search that it checks: it shares its input values and the engine, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import permutations, product

from menus.kitchen.carryover import carry_over
from menus.kitchen.events import Clean, Event, Use
from menus.planning.work import Work

Best = tuple[int, int]
"""Children who meet carry-over, cleanings added."""

Order = list[tuple[int, bool]]
"""Steps by number, each with whether it begins at the same minute as the one before it."""


def best(work: Work) -> Best | None:
    """Return the least that any order reaches, or None when no order ends in time."""
    reached: Best | None = None
    for order in _orders(work):
        numbers = [number for number, _ in order]
        for places in product(*(_places(work, number) for number in numbers)):
            touched = [(number, surface) for number, those in zip(numbers, places, strict=True) for surface in those]
            cleanable = [touch for touch in touched if work.stations[touch[1]].cleaning]
            for chosen in product((False, True), repeat=len(cleanable)):
                cleaned = {touch for touch, wanted in zip(cleanable, chosen, strict=True) if wanted}
                if reached and reached <= (0, len(cleaned)):
                    continue
                events = _events(work, order, dict(zip(numbers, places, strict=True)), cleaned)
                if events is not None:
                    found = (_children(work, events), len(cleaned))
                    reached = min(reached or found, found)
    return reached


def _orders(work: Work) -> Iterator[Order]:
    ahead = _ahead(work)
    several = any(station.capacity > 1 for station in work.stations.values())
    for numbers in permutations(range(len(work.steps))):
        if any(numbers.index(first) > numbers.index(second) for first, second in ahead):
            continue
        for joins in product((False, True), repeat=len(numbers) - 1) if several else [(False,) * (len(numbers) - 1)]:
            yield list(zip(numbers, (False, *joins), strict=True))


def _ahead(work: Work) -> set[tuple[int, int]]:
    number = {step.id: index for index, step in enumerate(work.steps)}
    asked = {(number[first], number[step.id]) for step in work.steps for first in step.after}
    return asked | {
        (number[one.id], number[other.id])
        for one in work.steps
        for other in work.steps
        if one.dish == other.dish and one.at < other.at
    }


def _places(work: Work, number: int) -> list[tuple[int, ...]]:
    choices = product(*(need.surfaces for need in work.steps[number].needs))
    return [places for places in choices if len(set(places)) == len(places)]


def _events(
    work: Work, order: Order, places: dict[int, tuple[int, ...]], cleaned: set[tuple[int, int]]
) -> list[Event] | None:
    """Lay the order out as early as it goes; None when it does not end in time or a surface takes fewer at once."""
    ahead = _ahead(work)
    start: dict[int, int] = {}
    free = dict.fromkeys(work.stations, 0)
    events: list[Event] = []
    for group in _groups(order):
        minute = max(
            [start[first] + work.steps[first].minutes for first, second in ahead if second in group and first in start]
            + [free[at] + _cleaning(work, group, at, cleaned) for each in group for at in places[each]],
            default=0,
        )
        if any(first in group and second in group for first, second in ahead):
            return None
        for at in work.stations:
            if sum(places[each].count(at) for each in group) > work.stations[at].capacity:
                return None
            if wash := _cleaning(work, group, at, cleaned):
                events.append(Clean(_time(work, minute - wash), at, _method(work, at)))
        for each in group:
            start[each] = minute
            if minute + work.steps[each].minutes > work.horizon:
                return None
            for at, need in zip(places[each], work.steps[each].needs, strict=True):
                events.append(Use(_time(work, minute), at, work.steps[each].dish))
                end = minute + work.steps[each].minutes
                for kept in need.cleaned:
                    events.append(Clean(_time(work, end), at, kept.cleaning.method))
                    end += kept.cleaning.minutes
                free[at] = max(free[at], end)
    return events


def _groups(order: Order) -> list[list[int]]:
    groups: list[list[int]] = []
    for number, joined in order:
        if joined:
            groups[-1].append(number)
        else:
            groups.append([number])
    return groups


def _cleaning(work: Work, group: list[int], at: int, cleaned: set[tuple[int, int]]) -> int:
    cleaning = work.stations[at].cleaning
    return cleaning.minutes if cleaning and any((each, at) in cleaned for each in group) else 0


def _method(work: Work, at: int) -> str:
    cleaning = work.stations[at].cleaning
    assert cleaning
    return cleaning.method


def _time(work: Work, minute: int) -> datetime:
    return work.start + timedelta(minutes=minute)


def _children(work: Work, events: list[Event]) -> int:
    surfaces = {number: station.facts for number, station in work.stations.items()}
    after = carry_over([*work.before, *events], surfaces, work.dishes)
    met = 0
    for stake in work.stakes:
        came = [piece.substance for piece in after[stake.dish] if piece not in work.dishes[stake.dish]]
        if any((substance,) in stake.residues for substance in came):
            met += stake.children
    return met
