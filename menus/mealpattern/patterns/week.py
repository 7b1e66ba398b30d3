"""A week of meals as credits and nutrients of foods, each food as one child is offered it.

Foods of one day with the same `choice` are offered instead of each other: a child takes one of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from menus.mealpattern.patterns.tables import Pattern


@dataclass(frozen=True, slots=True)
class Food:
    """A food of one day."""

    name: str
    credits: Mapping[str, Fraction]  # by component; a subgroup is written behind a dot
    nutrients: Mapping[str, Fraction] = field(default_factory=dict)  # what is not stated is not in it
    tags: Mapping[str, bool] = field(default_factory=dict)  # what was said for or against
    product: str | None = None  # a kind of product that has limits of its own
    weight_g: Fraction | None = None
    milk_fat: str | None = None
    choice: str = ""  # what it is one choice of, such as "main dish"; empty: every child is served it


@dataclass(frozen=True, slots=True)
class Week:
    """The days on which the meal is served, in order."""

    pattern: Pattern
    date: date  # the rules of this date are the ones that hold
    days: tuple[tuple[Food, ...], ...]

    @property
    def foods(self) -> tuple[Food, ...]:
        """The foods of all days; the choices of one day are told apart from those of another."""
        return tuple(
            replace(food, choice=f"{number} {food.choice}") if food.choice else food for number, food in self.numbered()
        )

    @property
    def has_choices(self) -> bool:
        return any(food.choice for day in self.days for food in day)

    def numbered(self) -> Iterator[tuple[int, Food]]:
        """Yield each food with the number of its day, from 1."""
        for number, day in enumerate(self.days, start=1):
            for food in day:
                yield number, food
