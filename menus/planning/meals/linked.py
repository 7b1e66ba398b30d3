"""What must be chosen together: a day, what is counted out over days, and weeks that are held to limits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction

from menus.planning.meals.limits import added
from menus.planning.meals.table import Group, Limit, Meal, Stock, Task, Week
from menus.planning.meals.trays import Tray, trays

Seat = tuple[date, str, int]
"""A group of children at a meal: day, meal, number of the group."""

Options = Mapping[Seat, tuple[Tray, ...]]
"""The trays worth choosing from, by the group at its meal."""


def options_of(task: Task, stocks: Iterable[Stock]) -> Options:
    """Return the trays of every group that may be best, one that nothing need run out for first."""
    scarce_dishes = [(meal, {stock.dish for stock in stocks if stock.serves(meal)}) for meal in task.meals]
    return {
        (meal.day, meal.name, group.key): _wholest(trays(meal, group), scarce_here)
        for meal, scarce_here in scarce_dishes
        for group in meal.groups
    }


def takes(tray: Tray, meal: Meal, stocks: Iterable[Stock]) -> bool:
    """Tell whether the tray takes a portion of what is counted."""
    return any(stock.dish in tray.keys and stock.serves(meal) for stock in stocks)


def group_of(week: Week, meal: Meal) -> Group:
    """Return the group in which the children of the week stand at one of its meals."""
    return next(group for group in meal.groups if week.members[0] in group.members)


def meals_of(week: Week, meals: Iterable[Meal]) -> list[Meal]:
    """Return those of the meals that belong to the week."""
    return [meal for meal in meals if meal.name == week.meal and meal.day in week.days]


def _wholest(options: tuple[Tray, ...], scarce_here: set[int]) -> tuple[Tray, ...]:
    """Only the trays that leave least open, where one of them takes nothing that could run out: then each child of the
    group has such a tray in every best choice, whatever the others have."""
    best = min((bool(tray.open), len(tray.open)) for tray in options)
    whole = [tray for tray in options if (bool(tray.open), len(tray.open)) == best]
    plenty = [tray for tray in whole if not tray.keys & scarce_here]
    return (*plenty, *(tray for tray in whole if tray not in plenty)) if plenty else options


def scarce(task: Task) -> tuple[Stock, ...]:
    """Return the stocks that could run out: all others bind nobody, whatever is chosen."""
    return tuple(stock for stock in task.stocks if _most_taken(stock, task.meals) > stock.portions)


def binding(task: Task, options: Options) -> tuple[Week, ...]:
    """Return the weeks with the limits that some choice would pass, or leave unknown; without them, no week."""
    seats = {(meal.day, meal.name, member): (meal, group) for meal, group in _groups(task) for member in group.members}

    def binds(limit: Limit, week: Week) -> bool:
        most = Fraction(0)
        for day in week.days:
            _, group = seats[day, week.meal, week.members[0]]
            sums = [added(limit, tray.dishes) for tray in options[day, week.meal, group.key]]
            if None in sums:
                return True
            most += max(each for each in sums if each is not None)
        return most > limit.most or (most == limit.most and limit.strict)

    held = (replace(week, limits=tuple(limit for limit in week.limits if binds(limit, week))) for week in task.weeks)
    return tuple(week for week in held if week.limits)


def linked(meals: Iterable[Meal], stocks: Iterable[Stock], weeks: Iterable[Week] = ()) -> list[list[Meal]]:
    """Return the meals in parts that share nothing, in their order."""
    rows = list(meals)
    part = list(range(len(rows)))

    def tie(places: list[int]) -> None:
        joined = {part[place] for place in places}
        for place, own in enumerate(part):
            if own in joined:
                part[place] = min(joined)

    for day in {meal.day for meal in rows}:
        tie([place for place, meal in enumerate(rows) if meal.day == day])
    for stock in stocks:
        tie([place for place, meal in enumerate(rows) if stock.serves(meal)])
    for span in {(week.meal, week.days) for week in weeks}:
        tie([place for place, meal in enumerate(rows) if meal.name == span[0] and meal.day in span[1]])
    return [[rows[place] for place, own in enumerate(part) if own == each] for each in sorted(set(part))]


def _groups(task: Task) -> Iterable[tuple[Meal, Group]]:
    return ((meal, group) for meal in task.meals for group in meal.groups)


def _most_taken(stock: Stock, meals: Iterable[Meal]) -> int:
    return sum(
        group.children for meal in meals if stock.serves(meal) for group in meal.groups if stock.dish in group.may
    )
