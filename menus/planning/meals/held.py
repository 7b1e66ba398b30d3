"""One weekly limit of children who are given the same trays, as rows of the program."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import date
from typing import Protocol

from menus.planning.linear import Linear, total
from menus.planning.meals.limits import added, passed
from menus.planning.meals.table import Dish, Limit, Meal, Week
from menus.planning.program import Program

HAIR = 1e-4
"""How many percent below a limit that itself is too much a week must stay: the program counts in decimals."""


class Option(Protocol):
    """A tray that the children may be given at a meal."""

    @property
    def meal(self) -> Meal: ...

    @property
    def children(self) -> Linear: ...

    @property
    def dishes(self) -> tuple[Dish, ...]: ...


class Held:
    """Whether the limit is known to be kept (`lapsed` 0, otherwise 1), and by how many percent it is passed (`beyond`).

    A tray with a dish that does not state what is counted leaves the week unknown: it lapses, and what the rest of it
    comes to counts for nothing, for nobody knows the sum.
    """

    def __init__(self, program: Program, week: Week, limit: Limit, options: Iterable[Option]) -> None:
        self.week, self.limit, self.children = week, limit, len(week.members)
        by_day: dict[date, list[tuple[Linear, float | None]]] = {}
        for each in options:
            once = each.children * (1 / self.children)
            by_day.setdefault(each.meal.day, []).append((once, _percent(limit, each.dishes)))
        most = float(100 * limit.most / limit.scale) - (HAIR if limit.strict else 0)
        reach = sum(max(0.0 if percent is None else percent for _, percent in day) for day in by_day.values())
        far = max(0, math.ceil(reach - most))
        self._beyond, self._lapsed = program.whole(0, far), program.choice()
        unknown = [[once for once, percent in day if percent is None] for day in by_day.values()]
        known = total(once * percent for day in by_day.values() for once, percent in day if percent)
        program.require(self._beyond - known + most + total(each for day in unknown for each in day) * far)
        program.require(self._lapsed * max(1, far) - self._beyond)
        for day in filter(None, unknown):
            program.require(self._lapsed - total(day))

    @property
    def beyond(self) -> Linear:
        """By how many percent each of them is beyond it."""
        return self._beyond

    @property
    def lapsed(self) -> Linear:
        """1 where it is not known to be kept."""
        return self._lapsed

    def begun(self, days: Sequence[tuple[Dish, ...]]) -> dict[int, float]:
        """Return what both are for these trays, by the number of the variable."""
        percent = passed(self.limit, [dish for dishes in days for dish in dishes])
        [beyond], [lapsed] = self._beyond.terms, self._lapsed.terms
        return {beyond: float(percent or 0), lapsed: float(percent != 0)}


def _percent(limit: Limit, dishes: Iterable[Dish]) -> float | None:
    amount = added(limit, dishes)
    return None if amount is None else float(100 * amount / limit.scale)
