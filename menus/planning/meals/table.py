"""What meals are chosen from: the dishes of each meal, planned and on hand, and the children who eat there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from itertools import product


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
    counts: Mapping[str, Fraction] = field(default_factory=dict)  # by weekly limit what a portion adds; else not known
    choice: str = ""  # of planned dishes: a child takes one of those that bear the same


@dataclass(frozen=True, slots=True)
class Group:
    """Children who are alike at a meal: the same dishes are kept from them, and they need the same."""

    key: int
    children: int
    may: frozenset[int]  # dishes that nothing was found against; every other is kept from them
    needs: Mapping[str, Fraction]  # the least of each component
    named: tuple[int, ...] = ()  # each of them by a number, the same at every meal; without it nobody follows a child

    @property
    def members(self) -> tuple[int, ...]:
        """Each child by its number; where they have none, counted within the group."""
        return self.named or tuple(range(self.children))


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
class Stock:
    """So many portions of a dish on hand there are for all meals between two days, both included."""

    dish: int
    portions: int
    first: date
    last: date

    def serves(self, meal: Meal) -> bool:
        """Tell whether the meal takes its portions from here."""
        return self.first <= meal.day <= self.last and any(dish.key == self.dish for dish in meal.on_hand)


@dataclass(frozen=True, slots=True)
class Limit:
    """A weekly figure as a sum: what the trays of a child's week add together may not be more than `most`.

    A figure that may not be less is one whose dishes count below nothing.
    """

    name: str
    most: Fraction
    scale: Fraction  # what a hundred percent of it are; more than nothing
    strict: bool = False  # `most` itself is too much


@dataclass(frozen=True, slots=True)
class Week:
    """Children who are alike on each of the days at that meal, and the limits to which their trays are held there."""

    meal: str
    days: tuple[date, ...]
    members: tuple[int, ...]
    limits: tuple[Limit, ...]


@dataclass(frozen=True, slots=True)
class Task:
    """The meals to choose for, what there is of dishes that are counted, and the weeks that are held to limits."""

    meals: tuple[Meal, ...]
    stocks: tuple[Stock, ...] = ()
    weeks: tuple[Week, ...] = ()

    def __post_init__(self) -> None:
        """Refuse what could not be chosen from."""
        for week in self.weeks:
            _refuse_unlike(week, self.meals)
        for meal in self.meals:
            _refuse_twice(f"dish of {meal.name} on {meal.day}", [dish.key for dish in meal.dishes])
            _refuse_twice(f"group of children at {meal.name} on {meal.day}", [group.key for group in meal.groups])
            for group in meal.groups:
                if group.children < 1:
                    raise BadMeals(f"Group {group.key} at {meal.name} on {meal.day} is empty. Leave it out.")
                if len(group.members) != group.children:
                    raise BadMeals(
                        f"Group {group.key} at {meal.name} on {meal.day} counts {group.children} children and names "
                        f"{len(group.named)}. Name each of them, or none."
                    )
            for dish in meal.dishes:
                if dish.cost < 0:
                    raise BadMeals(f"A portion of {dish.name} costs less than nothing. Write what it costs, or 0.")


def kept(meal: Meal, group: Group) -> tuple[tuple[Dish, ...], ...]:
    """Return what a child of the group may have of the menu: all that is not kept from it, and one of each choice."""
    allowed = [dish for dish in meal.planned if dish.key in group.may]
    marks = dict.fromkeys(dish.choice for dish in allowed if dish.choice)
    taken = product(*([dish for dish in allowed if dish.choice == mark] for mark in marks))
    return tuple(tuple(dish for dish in allowed if not dish.choice or dish in one) for one in taken)


def open_components(group: Group, dishes: tuple[Dish, ...]) -> frozenset[str]:
    """Return the components of which these dishes together give a child of the group too little."""
    return frozenset(
        component
        for component, least in group.needs.items()
        if sum((dish.credits.get(component, Fraction(0)) for dish in dishes), Fraction(0)) < least
    )


def _refuse_unlike(week: Week, meals: tuple[Meal, ...]) -> None:
    for day in week.days:
        at = [meal for meal in meals if (meal.day, meal.name) == (day, week.meal)]
        groups = [group for meal in at for group in meal.groups if set(week.members) <= set(group.members)]
        if len(groups) != 1:
            raise BadMeals(
                f"Children {week.members} are to be held to limits at {week.meal} together, and on {day} they stand in "
                "no one group of it. Give each kind of child a week of its own."
            )
    for limit in week.limits:
        if limit.scale <= 0:
            raise BadMeals(
                f"A hundred percent of {limit.name} are {limit.scale}. Give what they are, more than nothing."
            )


def _refuse_twice(what: str, keys: list[int]) -> None:
    twice = sorted({key for key in keys if keys.count(key) > 1})
    if twice:
        raise BadMeals(f"The {what} named {twice[0]} stands there twice. Name each once.")
