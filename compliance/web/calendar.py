"""Dishes laid out by week, day and meal, for the pages that show a menu as a calendar."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from compliance.web.sidebyside import side_by_side
from menus.models import Meal, Weekday
from menus.models.cycle import monday_of
from menus.services.closed import Closed, is_served

MEALS = list(Meal)
NOT_CLOSED: Closed = {}


@dataclass(frozen=True, slots=True)
class Count:
    """How many children stand at one outcome."""

    outcome: int
    children: int


@dataclass(frozen=True, slots=True)
class Dish:
    """One dish of a day. `serving` is empty while it stands on the cycle alone; `counts` is None when not checked."""

    day: date
    meal: Meal
    name: str
    serving: int | None = None
    counts: tuple[Count, ...] | None = None
    choice: str = ""  # what it is one choice of
    instead_of: str = ""  # what the cycle calls for in its place


@dataclass(slots=True)
class Sitting:
    """One meal of one day. `despite`: on the plan although the calendar says that it is not served."""

    meal: Meal
    despite: bool = False
    dishes: list[Dish] = field(default_factory=list)


@dataclass(slots=True)
class Day:
    """One day with its meals in order. `closed` says in words what is not served, and why."""

    date: date
    sittings: list[Sitting] = field(default_factory=list)
    closed: tuple[str, ...] = ()


@dataclass(slots=True)
class Week:
    """Monday to Friday, and those days of the weekend on which something is served."""

    monday: date
    days: list[Day] = field(default_factory=list)

    @property
    def with_weekend(self) -> bool:
        """Whether something is served on its Saturday or Sunday."""
        return any(day.date.weekday() >= Weekday.SATURDAY for day in self.days)


def weeks(dishes: Iterable[Dish], first: date, last: date, closed: Closed = NOT_CLOSED) -> list[Week]:
    """Return the weeks that hold the days between the two, both included, with the dishes of those days."""
    by_day: dict[date, list[Dish]] = {}
    for dish in dishes:
        by_day.setdefault(dish.day, []).append(dish)
    result: list[Week] = []
    for n in range((last - first).days + 1):
        day = first + timedelta(days=n)
        if day.weekday() >= Weekday.SATURDAY and day not in by_day:
            continue
        if not result or result[-1].monday != monday_of(day):
            result.append(Week(monday_of(day)))
        said = tuple(closure.words for closure in closed.get(day, ()))
        result[-1].days.append(Day(day, _sittings(by_day.get(day, []), day, closed), said))
    return result


def _sittings(dishes: list[Dish], day: date, closed: Closed) -> list[Sitting]:
    sittings = [
        Sitting(
            meal,
            not is_served(closed, day, meal),
            side_by_side((dish for dish in dishes if dish.meal == meal), lambda dish: dish.choice),
        )
        for meal in MEALS
    ]
    return [sitting for sitting in sittings if sitting.dishes]
