"""What is read of a site's week for its meals, one by one: dishes, what they bring, who is kept from which."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from compliance.rules.values import Outcome
from menus.mealpattern.patterns.needs import Need
from menus.mealpattern.patterns.week import Food
from menus.mealpattern.patterns.weekly import Figure
from menus.models import Alternative, Serving, Site
from menus.planning.meals.table import Stock


@dataclass(frozen=True, slots=True, order=True)
class Stop:
    """Why one child is not given one dish."""

    substance: str  # code; "" for a dish that has not been checked, and for what is no restriction
    outcome: Outcome
    said: str = ""  # what is no restriction, in words: how the dish is cut, or its texture


UNCHECKED = Stop("", Outcome.REFER)
"""Of a planned dish that no check speaks for yet: nothing is known of it, so no restricted child is given it."""


@dataclass(frozen=True, slots=True)
class MealFacts:
    """One meal of one day and the restricted children who are there. Dishes go by the id of their recipe."""

    day: date
    meal: str
    servings: tuple[Serving, ...]
    on_hand: tuple[Alternative, ...]
    foods: Mapping[int, Food]
    asked: Mapping[int, tuple[str, ...]]  # what of a dish credits nothing until somebody answers
    needs: tuple[Need, ...]
    program: str  # as the pattern is called; "" where none is set
    classrooms: Mapping[int, int]  # of each restricted child, both by id
    stops: Mapping[int, Mapping[int, tuple[Stop, ...]]]  # by child, then by dish; a dish that may be given has none
    children: int  # all who are there, restricted or not
    unchecked: tuple[int, ...]  # planned dishes that no check speaks for
    is_outlook: bool  # checks do not reach the day yet: planned dishes too are judged by their recipe alone

    @property
    def recipes(self) -> tuple[int, ...]:
        """The dishes, those planned first."""
        return (*(each.recipe_id for each in self.servings), *(each.recipe_id for each in self.on_hand))

    def name(self, recipe: int) -> str:
        """Return what the dish is called."""
        both: Iterable[Serving | Alternative] = (*self.servings, *self.on_hand)
        return next(each.recipe.name for each in both if each.recipe_id == recipe)

    def stops_of(self, child: int, recipe: int) -> tuple[Stop, ...]:
        """Return why the child is not given the dish; nothing where nothing was found against it."""
        return self.stops[child].get(recipe, ())


@dataclass(frozen=True, slots=True)
class MealWeek:
    """A meal of a week, which its pattern's weekly figures hold for."""

    meal: str
    monday: date
    days: tuple[date, ...]  # on which it is planned
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class SpanFacts:
    """The meals of a site between two days, in order."""

    site: Site
    first: date
    last: date
    meals: tuple[MealFacts, ...]
    stocks: tuple[Stock, ...]  # of those dishes on hand of which there are only so many
    weeks: tuple[MealWeek, ...]  # those of which all meals are among these
