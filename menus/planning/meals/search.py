"""The choice with the least extra work, proven by HiGHS: aim after aim, each held while the next is searched for.

Days share nothing but a stock that is counted over all of them: without one each day is a program of its own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from time import monotonic

from menus.planning.linear import Linear, total
from menus.planning.meals.plan import AIMS, Given, Level, Meals
from menus.planning.meals.table import Group, Meal, Task
from menus.planning.meals.trays import Tray, trays
from menus.planning.program import INFINITY, Program, Solution


@dataclass(frozen=True, slots=True)
class Choice:
    """How many children of a group are given a tray."""

    meal: Meal
    group: Group
    tray: Tray
    children: Linear


def choose(task: Task, seconds: float) -> Meals:
    """Return the choice with the fewest children left without a whole meal, and then the least extra work.

    Each level says whether it is proven, or how far off the least may be when the seconds ran out.
    """
    parts = [list(task.meals)] if task.stock else _by_day(task.meals)
    until = monotonic() + seconds
    found = [
        _Part(meals, task.stock).find(max(until - monotonic(), 0.05) / (len(parts) - place))
        for place, meals in enumerate(parts)
    ]
    return Meals(
        tuple(given for part in found for given in part.given),
        tuple(_summed(levels) for levels in zip(*(part.levels for part in found), strict=True)),
    )


def _by_day(meals: tuple[Meal, ...]) -> list[list[Meal]]:
    days: dict[date, list[Meal]] = {}
    for meal in meals:
        days.setdefault(meal.day, []).append(meal)
    return list(days.values())


class _Part:
    """Meals that are chosen for together."""

    def __init__(self, meals: list[Meal], stock: Mapping[int, int]) -> None:
        self.program = Program()
        self.choices = [
            Choice(meal, group, tray, self.program.whole(0, group.children))
            for meal in meals
            for group in meal.groups
            for tray in trays(meal, group)
        ]
        self._serve_everybody()
        self.prepared = self._prepared()
        self._hold_stock(stock)

    def find(self, seconds: float) -> Meals:
        """Search for one aim after the other, holding what was reached."""
        until = monotonic() + seconds
        values, levels = self._nothing_added(), []
        for place, aim in enumerate(self._aims()):
            reached = sum(aim.terms[column] * values[column] for column in aim.terms)
            if reached < 0.5:  # nothing is less than nothing
                levels.append(Level(AIMS[place], 0, 0, proven=True))
            else:
                left = max(until - monotonic(), 0.05) / (len(AIMS) - place)
                solution = self.program.minimise(aim, left, step=1, start=values)
                if solution.values is not None and solution.of(aim) <= reached + 0.5:
                    values = list(solution.values)
                    reached = solution.of(aim)
                levels.append(_level(AIMS[place], round(reached), solution))
            self.program.require(aim, -INFINITY, levels[-1].value + 0.5)
        given = self._given(values)
        return Meals(given, tuple(levels))

    def _serve_everybody(self) -> None:
        """Each child is given one tray, be it without anything added."""
        served: dict[tuple[date, str, int], list[Choice]] = {}
        for choice in self.choices:
            served.setdefault((choice.meal.day, choice.meal.name, choice.group.key), []).append(choice)
        for choices in served.values():
            self.program.require(total(each.children for each in choices) - choices[0].group.children, 0, 0)

    def _prepared(self) -> dict[tuple[date, int], Linear]:
        """For each day and dish: whether it is prepared. Each group asks for itself, which proves more than the sum."""
        prepared: dict[tuple[date, int], Linear] = {}
        asked: dict[tuple[date, str, int, int], list[Choice]] = {}
        for choice in self.choices:
            for key in choice.tray.keys:
                asked.setdefault((choice.meal.day, choice.meal.name, choice.group.key, key), []).append(choice)
        for (day, _, _, key), choices in asked.items():
            if (day, key) not in prepared:
                prepared[day, key] = self.program.choice()
            wanted = total(each.children for each in choices)
            self.program.require(prepared[day, key] * choices[0].group.children - wanted)
        return prepared

    def _hold_stock(self, stock: Mapping[int, int]) -> None:
        for key, portions in stock.items():
            used = [each.children for each in self.choices if key in each.tray.keys]
            if used:
                self.program.require(total(used), -INFINITY, portions)

    def _aims(self) -> tuple[Linear, ...]:
        """One expression for each of AIMS."""
        rows = self.choices
        return (
            total(each.children for each in rows if each.tray.open),
            total(each.children * len(each.tray.open) for each in rows if each.tray.open),
            total(self.prepared.values()),
            total(each.children * len(each.tray.extra) for each in rows if each.tray.extra),
            total(each.children * each.tray.cost for each in rows if each.tray.cost),
        )

    def _nothing_added(self) -> list[float]:
        """The solution to begin from: every child keeps what it keeps, and nothing is prepared."""
        values = {
            column: float(choice.group.children if not choice.tray.extra else 0)
            for choice in self.choices
            for column in choice.children.terms
        }
        values |= {column: 0.0 for choice in self.prepared.values() for column in choice.terms}
        return [values[column] for column in sorted(values)]

    def _given(self, values: list[float]) -> tuple[Given, ...]:
        counted = ((each, round(values[column])) for each in self.choices for column in each.children.terms)
        return tuple(Given(each.meal, each.group, count, each.tray) for each, count in counted if count)


def _level(aim: str, value: int, found: Solution) -> Level:
    proven = found.proven and found.values is not None
    least = math.ceil(found.bound - 1e-6) if math.isfinite(found.bound) else 0
    return Level(aim, value, value if proven else max(0, min(value, least)), proven)


def _summed(levels: tuple[Level, ...]) -> Level:
    """One level for all days: what each reached, added up."""
    return Level(
        levels[0].aim,
        sum(each.value for each in levels),
        sum(each.bound for each in levels),
        all(each.proven for each in levels),
    )
