"""What meals are chosen from: the dishes of each meal, planned and on hand, and the children who eat there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction


class BadMeals(ValueError):
    """The meals contradict themselves. The message says what is wrong and how to mend it."""


@dataclass(frozen=True, slots=True)
class Dish:
    """One dish of a meal, as one portion of it counts."""

    key: int  # the recipe
    name: str
    credits: Mapping[str, Fraction]  # by component, in cups or ounce equivalents
    planned: bool  # on the menu of all; otherwise on hand, and preparing it is extra work
    cost: int = 0  # of a portion, in the smallest coin
    energy: Fraction | None = None  # kilocalories of a portion; None: not known


@dataclass(frozen=True, slots=True)
class Group:
    """Children who are alike at a meal: the same dishes are kept from them, and they need the same."""

    key: int
    children: int
    may: frozenset[int]  # dishes that nothing was found against; every other is kept from them
    needs: Mapping[str, Fraction]  # the least of each component


@dataclass(frozen=True, slots=True)
class Meal:
    """One meal of one day."""

    day: date
    name: str
    dishes: tuple[Dish, ...]
    groups: tuple[Group, ...]

    @property
    def planned(self) -> tuple[Dish, ...]:
        """The dishes on the menu of all."""
        return tuple(dish for dish in self.dishes if dish.planned)

    @property
    def on_hand(self) -> tuple[Dish, ...]:
        """The dishes that may be prepared beside it."""
        return tuple(dish for dish in self.dishes if not dish.planned)


@dataclass(frozen=True, slots=True)
class Task:
    """The meals to choose for. `stock` says of some dishes on hand how many portions there are for all of them."""

    meals: tuple[Meal, ...]
    stock: Mapping[int, int]

    def __post_init__(self) -> None:
        """Refuse what could not be chosen from."""
        for meal in self.meals:
            _refuse_twice(f"dish of {meal.name} on {meal.day}", [dish.key for dish in meal.dishes])
            _refuse_twice(f"group of children at {meal.name} on {meal.day}", [group.key for group in meal.groups])
            for group in meal.groups:
                if group.children < 1:
                    raise BadMeals(f"Group {group.key} at {meal.name} on {meal.day} is empty. Leave it out.")
            for dish in meal.dishes:
                if dish.cost < 0:
                    raise BadMeals(f"A portion of {dish.name} costs less than nothing. Write what it costs, or 0.")


def kept(meal: Meal, group: Group) -> tuple[Dish, ...]:
    """Return the planned dishes that the group keeps: all that are not kept from it."""
    return tuple(dish for dish in meal.planned if dish.key in group.may)


def open_components(group: Group, dishes: tuple[Dish, ...]) -> frozenset[str]:
    """Return the components of which these dishes together give a child of the group too little."""
    return frozenset(
        component
        for component, least in group.needs.items()
        if sum((dish.credits.get(component, Fraction(0)) for dish in dishes), Fraction(0)) < least
    )


def _refuse_twice(what: str, keys: list[int]) -> None:
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise BadMeals(f"The {what} named {twice[0]} stands there twice. Name each once.")
