"""What was chosen: for each meal and group of children the trays, what they come to, and what was proven of it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from menus.planning.meals.limits import Lapse, lapses
from menus.planning.meals.table import Dish, Group, Meal, Week
from menus.planning.meals.trays import Tray

AIMS = (
    "children without a whole meal",
    "components left open",
    "weekly limits not known to be kept",
    "percent beyond weekly limits",
    "extra dishes",
    "extra portions",
    "cost",
)
"""In the order in which they count; a child counts at each meal, a limit for each child, an extra dish on each day."""

UNMET, OPEN, LIMITS, BEYOND, DISHES, PORTIONS, COST = range(len(AIMS))

Tally = tuple[int, ...]
"""One number for each aim."""


@dataclass(frozen=True, slots=True)
class Given:
    """These children of a group are given this tray at a meal."""

    meal: Meal
    group: Group
    members: tuple[int, ...]
    tray: Tray

    @property
    def children(self) -> int:
        """How many they are."""
        return len(self.members)

    @property
    def dishes(self) -> tuple[Dish, ...]:
        """All that stands on the tray: what is kept of the menu, then what is added."""
        return self.tray.dishes


@dataclass(frozen=True, slots=True)
class Level:
    """What was reached for one aim, and the least that anybody could reach once the aims before it are held."""

    aim: str
    value: int
    bound: int
    proven: bool


@dataclass(frozen=True, slots=True)
class Meals:
    """A choice for all meals, and the weeks that are held to limits. Without `levels` nobody looked for the least."""

    given: tuple[Given, ...]
    weeks: tuple[Week, ...] = field(default=())
    levels: tuple[Level, ...] = field(default=())

    @property
    def proven(self) -> bool:
        """Whether nothing less is possible, aim by aim."""
        return bool(self.levels) and all(level.proven for level in self.levels)

    @property
    def tally(self) -> Tally:
        """What the choice comes to, counted from the trays themselves."""
        return tally(self.given, self.weeks)

    @property
    def portions(self) -> dict[tuple[date, str, int], int]:
        """How many portions of which dish on hand are wanted, by day, meal and dish."""
        wanted: dict[tuple[date, str, int], int] = {}
        for each in self.given:
            for dish in each.tray.extra:
                at = (each.meal.day, each.meal.name, dish.key)
                wanted[at] = wanted.get(at, 0) + each.children
        return wanted


def lapsed(given: Iterable[Given], weeks: Iterable[Week]) -> list[Lapse]:
    """Return the limits of these weeks that are not known to be kept."""
    served = {(each.meal.day, each.meal.name, member): each.dishes for each in given for member in each.members}
    return list(lapses(weeks, served))


def tally(given: Iterable[Given], weeks: Iterable[Week] = ()) -> Tally:
    """Count what trays come to. The same extra dish at two meals of a day is prepared once."""
    rows = list(given)
    beyond = lapsed(rows, weeks)
    return (
        sum(each.children for each in rows if each.tray.open),
        sum(each.children * len(each.tray.open) for each in rows),
        len(beyond),
        sum(each.percent or 0 for each in beyond),
        len({(each.meal.day, key) for each in rows for key in each.tray.keys}),
        sum(each.children * len(each.tray.extra) for each in rows),
        sum(each.children * each.tray.cost for each in rows),
    )
