"""A solution of the program read back as an order of work."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import floor

from menus.planning.plan import Placed, Plan, Washed
from menus.planning.program import Solution
from menus.planning.search import Search
from menus.planning.work import Work

_SLACK = 1e-4
"""Minutes by which the solver may miss a whole one."""


def decode(search: Search, solution: Solution) -> Plan:
    """Return the order of work that the solution stands for, cleanings included; the engine has not seen it yet."""
    steps = [_placed(search, solution, number) for number, step in enumerate(search.work.steps) if not step.fixed]
    kept = (washed for placed in steps for washed in _kept(search.work, placed, steps))
    return Plan(_in_order(steps), tuple(sorted([*kept, *_added(search, solution)], key=lambda each: each.at)))


def today(work: Work) -> Plan:
    """Return today's order of work, each step on the surfaces that it has today."""
    steps = [
        Placed(step.id, step.dish, step.at, step.minutes, tuple(need.surfaces[0] for need in step.needs))
        for step in work.steps
        if not step.fixed
    ]
    cleanings = [
        Washed(each.surface, each.cleaning.method, each.at, each.cleaning.minutes, each)
        for step in work.steps
        if not step.fixed
        for need in step.needs
        for each in need.cleaned
    ]
    return Plan(_in_order(steps), tuple(sorted(cleanings, key=lambda each: each.at)))


def _in_order(steps: list[Placed]) -> tuple[Placed, ...]:
    return tuple(sorted(steps, key=lambda each: (each.at, each.step)))


def _placed(search: Search, solution: Solution, number: int) -> Placed:
    step = search.work.steps[number]
    places = zip(search.touches.all, search.sequence.on, strict=True)
    surfaces = tuple(
        max(place, key=lambda surface: solution.of(place[surface])) for touch, place in places if touch.step == number
    )
    at = search.work.start + timedelta(minutes=_minute(solution.of(search.sequence.begin[number])))
    return Placed(step.id, step.dish, at, step.minutes, surfaces)


def _minute(value: float) -> int:
    """The whole minute of a time that the solver left between two.

    Downward for all, so that what lies whole minutes apart stays apart; to the nearest, 5.5 would go up and 20.5 down.
    """
    return floor(value + _SLACK)


def _kept(work: Work, placed: Placed, steps: list[Placed]) -> list[Washed]:
    """The cleanings that follow the step today: at their time of today where that still falls before the next use."""
    [step] = (each for each in work.steps if each.id == placed.step)
    found = []
    for surface, need in zip(placed.surfaces, step.needs, strict=True):
        free, until = placed.end, _next_use(work, surface, placed, steps)
        for each in need.cleaned:
            minutes = timedelta(minutes=each.cleaning.minutes)
            fits = surface == each.surface and each.at >= free and (until is None or each.at + minutes <= until)
            washed = Washed(surface, each.cleaning.method, each.at if fits else free, each.cleaning.minutes, each)
            found.append(washed)
            free = washed.end
    return found


def _next_use(work: Work, surface: int, placed: Placed, steps: list[Placed]) -> datetime | None:
    fixed = (step.at for step in work.steps if step.fixed for need in step.needs if surface in need.surfaces)
    moving = (step.at for step in steps if surface in step.surfaces)
    return min((at for at in (*fixed, *moving) if at > placed.at), default=None)


def _added(search: Search, solution: Solution) -> list[Washed]:
    """The cleanings added, each done just before the surface is needed again."""
    found = []
    for surface, station in search.work.stations.items():
        if station.cleaning is None:
            continue
        there = sorted(
            (_minute(solution.of(search.sequence.starts(touch))), round(solution.of(added)))
            for (touch, at), added in search.sequence.added.items()
            if at == surface and solution.of(search.sequence.on[touch][surface]) > 0.5
        )
        cleanings = 0
        for minute, wanted in there:
            if wanted > cleanings:
                at = search.work.start + timedelta(minutes=minute - station.cleaning.minutes)
                found.append(Washed(surface, station.cleaning.method, at, station.cleaning.minutes))
            cleanings = max(cleanings, wanted)
    return found
