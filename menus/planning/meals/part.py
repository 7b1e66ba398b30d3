"""Meals that are chosen for together, as one program: aim after aim, each held while the next is searched for."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from time import monotonic

from menus.planning.linear import Linear, total
from menus.planning.meals.held import Held
from menus.planning.meals.linked import Options, takes
from menus.planning.meals.plan import AIMS, Given, Level
from menus.planning.meals.table import Dish, Group, Meal, Stock, Week
from menus.planning.meals.trays import Tray
from menus.planning.program import INFINITY, Program, Solution

SHARE = 0.75
"""Of the time that is left, what the next aim may take: what comes first is worth most."""

Chosen = Mapping[tuple[date, str, int, int], Tray]
"""The tray of a child at a meal, by day, meal, group and child."""

Together = tuple[date, str, int, tuple[int, ...]]
"""Children of a group at a meal who are chosen for together."""


@dataclass(frozen=True, slots=True)
class Choice:
    """How many of these children of a group are given a tray."""

    meal: Meal
    group: Group
    members: tuple[int, ...]
    tray: Tray
    children: Linear

    @property
    def who(self) -> Together:
        """The children of whom it chooses."""
        return self.meal.day, self.meal.name, self.group.key, self.members

    @property
    def dishes(self) -> tuple[Dish, ...]:
        """All that stands on it."""
        return self.tray.dishes


class Part:
    """One program. The children of a week that is held are given the same trays; all others are counted.

    `kinds` holds the weeks; those of one kind are of children who are alike and may have different trays.
    """

    def __init__(
        self, meals: Iterable[Meal], options: Options, stocks: Sequence[Stock], kinds: Sequence[Sequence[Week]] = ()
    ) -> None:
        self.program = Program()
        weeks = [week for kind in kinds for week in kind]
        self.choices = [
            choice
            for meal in meals
            for group in meal.groups
            for choice in self._choices(meal, group, options[meal.day, meal.name, group.key], weeks)
        ]
        self._serve_everybody()
        self.prepared = self._prepared()
        for stock in stocks:
            used = [each.children for each in self.choices if stock.dish in each.tray.keys and stock.serves(each.meal)]
            if used:
                self.program.require(total(used), -INFINITY, stock.portions)
        of_week = {(week.meal, week.members): [each for each in self.choices if _is_of(week, each)] for week in weeks}
        self.held = [
            Held(self.program, week, limit, of_week[week.meal, week.members]) for week in weeks for limit in week.limits
        ]
        for kind in kinds:
            taken = [
                total(each.children for each in of_week[week.meal, week.members] if takes(each.tray, each.meal, stocks))
                for week in kind
            ]
            for more, less in pairwise(taken):  # who are alike may change places: one order of them is enough
                self.program.require(more - less)

    def find(
        self, seconds: float, aims: Sequence[int], held: Mapping[int, int], start: Chosen
    ) -> tuple[tuple[Given, ...], dict[int, Level]]:
        """Search for one aim after the other, holding what was reached and what is given as held.

        `start` holds the trays to begin from; whoever is not in it begins with nothing added.
        """
        until, values = monotonic() + seconds, self._begun(start)
        expressions, levels = self._aims(), {}
        for aim, value in held.items():
            self.program.require(expressions[aim], -INFINITY, value + 0.5)
        for place, aim in enumerate(aims):
            left = max(until - monotonic(), 0.05) * (SHARE if place + 1 < len(aims) else 1)
            levels[aim], values = self._reach(AIMS[aim], expressions[aim], values, left)
            self.program.require(expressions[aim], -INFINITY, levels[aim].value + 0.5)
        return self._given(values), levels

    def _reach(self, aim: str, sought: Linear, values: list[float], seconds: float) -> tuple[Level, list[float]]:
        reached = _value(sought, values)
        if reached < 0.5:  # nothing is less than nothing
            return Level(aim, 0, 0, proven=True), values
        solution = self.program.minimise(sought, seconds, step=1, start=values)
        if solution.values is not None and solution.of(sought) <= reached + 0.5:
            values, reached = list(solution.values), solution.of(sought)
        return _level(aim, round(reached), solution), values

    def _choices(self, meal: Meal, group: Group, options: tuple[Tray, ...], weeks: Sequence[Week]) -> Iterator[Choice]:
        rest = set(group.members)
        for week in weeks:
            if week.meal == meal.name and meal.day in week.days and week.members[0] in rest:
                rest -= set(week.members)
                for tray in options:
                    yield Choice(meal, group, week.members, tray, self.program.choice() * len(week.members))
        if rest:
            counted = tuple(member for member in group.members if member in rest)
            for tray in options:
                yield Choice(meal, group, counted, tray, self.program.whole(0, len(counted)))

    def _serve_everybody(self) -> None:
        """Each child is given one tray, be it without anything added."""
        for choices in self._together():
            self.program.require(total(each.children for each in choices) - len(choices[0].members), 0, 0)

    def _together(self) -> list[list[Choice]]:
        """The choices of the same children at a meal."""
        served: dict[Together, list[Choice]] = {}
        for choice in self.choices:
            served.setdefault(choice.who, []).append(choice)
        return list(served.values())

    def _prepared(self) -> dict[tuple[date, int], Linear]:
        """For each day and dish: whether it is prepared. Each group asks for itself, which proves more than the sum."""
        prepared: dict[tuple[date, int], Linear] = {}
        for choices in self._together():
            asked: dict[int, list[Linear]] = {}
            for choice in choices:
                for key in choice.tray.keys:
                    asked.setdefault(key, []).append(choice.children)
            for key, wanted in asked.items():
                at = (choices[0].meal.day, key)
                if at not in prepared:
                    prepared[at] = self.program.choice()
                self.program.require(prepared[at] * len(choices[0].members) - total(wanted))
        return prepared

    def _aims(self) -> tuple[Linear, ...]:
        """One expression for each of AIMS."""
        rows = self.choices
        return (
            total(each.children for each in rows if each.tray.open),
            total(each.children * len(each.tray.open) for each in rows if each.tray.open),
            total(each.lapsed * each.children for each in self.held),
            total(each.beyond * each.children for each in self.held),
            total(self.prepared.values()),
            total(each.children * len(each.tray.extra) for each in rows if each.tray.extra),
            total(each.children * each.tray.cost for each in rows if each.tray.cost),
        )

    def _begun(self, start: Chosen) -> list[float]:
        """The trays to begin from as a solution of the program."""
        values: dict[int, float] = {}
        used: set[tuple[date, int]] = set()
        given: dict[tuple[date, str, tuple[int, ...]], tuple[Dish, ...]] = {}
        for choices in self._together():
            day, meal, group, members = choices[0].who
            wanted = [start.get((day, meal, group, member), choices[0].tray) for member in members]
            for choice in choices:
                [(column, factor)] = choice.children.terms.items()
                values[column] = sum(tray == choice.tray for tray in wanted) / factor
                if values[column]:
                    used |= {(day, key) for key in choice.tray.keys}
                    given[day, meal, members] = choice.dishes
        values |= {column: float(at in used) for at, each in self.prepared.items() for column in each.terms}
        for held in self.held:
            values |= held.begun([given[day, held.week.meal, held.week.members] for day in held.week.days])
        return [values[column] for column in sorted(values)]

    def _given(self, values: list[float]) -> tuple[Given, ...]:
        found: list[Given] = []
        for choices in self._together():
            waiting = list(choices[0].members)
            for each in choices:
                count = round(_value(each.children, values))
                if count:
                    found.append(Given(each.meal, each.group, tuple(waiting[:count]), each.tray))
                    waiting = waiting[count:]
        return tuple(found)


def _is_of(week: Week, choice: Choice) -> bool:
    return choice.members == week.members and choice.meal.name == week.meal and choice.meal.day in week.days


def _value(expression: Linear, values: Sequence[float]) -> float:
    return expression.constant + sum(values[column] * factor for column, factor in expression.terms.items())


def _level(aim: str, value: int, found: Solution) -> Level:
    proven = found.proven and found.values is not None
    least = math.ceil(found.bound - 1e-6) if math.isfinite(found.bound) else 0
    return Level(aim, value, value if proven else max(0, min(value, least)), proven)
