"""Weekly limits of what children are given: what is known to be kept, and by how much the rest is passed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from menus.planning.meals.table import Dish, Limit, Week

Served = Mapping[tuple[date, str, int], tuple[Dish, ...]]
"""All that stands on a tray, by day, meal and child."""


@dataclass(frozen=True, slots=True)
class Lapse:
    """One limit of one child's week that is not known to be kept."""

    member: int
    limit: Limit
    percent: int | None  # by how much it is passed, rounded up; None: some dish does not state it


def lapses(weeks: Iterable[Week], served: Served) -> Iterator[Lapse]:
    """Yield what is not known to be kept, week by week and child by child. Exact: no decimal is rounded."""
    for week in weeks:
        for member in week.members:
            dishes = [dish for day in week.days for dish in served[day, week.meal, member]]
            for limit in week.limits:
                percent = passed(limit, dishes)
                if percent != 0:
                    yield Lapse(member, limit, percent)


def added(limit: Limit, dishes: Iterable[Dish]) -> Fraction | None:
    """Return what these dishes add to the sum that is limited; None where one does not state it."""
    amount = Fraction(0)
    for dish in dishes:
        if limit.name not in dish.counts:
            return None
        amount += dish.counts[limit.name]
    return amount


def passed(limit: Limit, dishes: Iterable[Dish]) -> int | None:
    """Return by how many percent, rounded up, these dishes together pass the limit; None where one does not state it.

    Where `most` itself is too much, a week that comes to just that much is in the first percent beyond it.
    """
    amount = added(limit, dishes)
    if amount is None:
        return None
    percent = 100 * (amount - limit.most) / limit.scale
    return max(0, math.floor(percent) + 1 if limit.strict else math.ceil(percent))
