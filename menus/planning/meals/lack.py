"""Why a child has no whole meal: which component stays open, and what bars each dish that would fill it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from menus.planning.meals.plan import Given
from menus.planning.meals.table import Dish, Group, Meal, Stock, open_components


class Bar(StrEnum):
    """What bars a dish from filling a component."""

    KEPT_AWAY = "kept away"  # a restriction withholds it, or a question about it is open
    TOO_LITTLE = "too little"  # it may be given, and with all else that is left credits less than is needed
    USED_UP = "used up"  # the portions on hand go to others
    NOT_FOUND = "not found"  # the time ran out before it was chosen


@dataclass(frozen=True, slots=True)
class Barred:
    """One dish that credits the component, and why it does not fill it."""

    dish: Dish
    bar: Bar


@dataclass(frozen=True, slots=True)
class Lack:
    """One component that stays open for so many children. Without `barred`, no dish at all credits it."""

    meal: Meal
    group: Group
    children: int
    component: str
    barred: tuple[Barred, ...]


def lacks(given: Iterable[Given], stocks: Iterable[Stock]) -> tuple[Lack, ...]:
    """Return why children have no whole meal, component by component."""
    counted = tuple(stocks)
    return tuple(
        Lack(each.meal, each.group, each.children, component, _barred(each, component, counted))
        for each in given
        for component in sorted(each.tray.open)
    )


def _barred(given: Given, component: str, stocks: tuple[Stock, ...]) -> tuple[Barred, ...]:
    counted = {stock.dish for stock in stocks if stock.serves(given.meal)}
    allowed = (*given.tray.kept, *(dish for dish in given.meal.on_hand if dish.key in given.group.may))
    left = tuple(dish for dish in allowed if dish.key not in counted or dish in given.dishes)
    never, nothing_left = (component in open_components(given.group, dishes) for dishes in (allowed, left))

    def bar(dish: Dish) -> Bar:
        if dish.key not in given.group.may:
            return Bar.KEPT_AWAY
        if dish.planned:
            return Bar.TOO_LITTLE
        if dish in left:
            return Bar.TOO_LITTLE if nothing_left or dish in given.dishes else Bar.NOT_FOUND
        return Bar.TOO_LITTLE if never else Bar.USED_UP

    return tuple(Barred(dish, bar(dish)) for dish in given.meal.dishes if dish.credits.get(component))
