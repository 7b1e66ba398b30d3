"""Weekly figures of nutrients for what one child is given: each as a sum over its trays that may not pass a limit.

The regulation asks it of the menu, on the average of the week; of a child's own trays it is asked here so that what is
swapped keeps what the menu keeps. A share of the energy becomes a sum: what the nutrient brings, less its share.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from menus.mealpattern.patterns.nutrients import BUT_MILK, ENERGY, KCAL_PER_G, is_milk
from menus.mealpattern.patterns.rule import Force, Per, Rule
from menus.mealpattern.patterns.tables import Pattern, rules
from menus.mealpattern.patterns.week import Food

PERCENT = 100


@dataclass(frozen=True, slots=True)
class Figure:
    """One side of a weekly figure: no less than so much, or no more."""

    rule: Rule
    figure: Fraction
    is_least: bool

    @property
    def name(self) -> str:
        """What it goes by: the rule, and which side of it."""
        return f"{self.rule.id}, {'least' if self.is_least else 'most'}"

    @property
    def strict(self) -> bool:
        """Whether the figure itself is too much."""
        return self.rule.strict and not self.is_least

    def counted(self, food: Food) -> Fraction | None:
        """Return what a portion adds to the sum; None where the food does not state what is needed for that."""
        sign = -1 if self.is_least else 1
        if self.rule.per is Per.AVERAGE:
            held = food.nutrients.get(self.rule.measure)
            return None if held is None else sign * held
        brought, energy = _brought(food, self.rule.measure), food.nutrients.get(ENERGY)
        if brought is None or energy is None:
            return None
        return sign * (PERCENT * brought - self.figure * energy)

    def most(self, days: int) -> Fraction:
        """Return what the sum over so many days may be at most."""
        if self.rule.per is Per.AVERAGE:
            return (-1 if self.is_least else 1) * self.figure * days
        return Fraction(0)

    def amount(self, foods: Iterable[Food], days: int) -> Fraction | None:
        """Return what the foods of so many days come to in the unit of the rule; None where it is not known."""
        eaten = tuple(foods)
        if self.rule.per is Per.AVERAGE:
            held = [food.nutrients.get(self.rule.measure) for food in eaten]
            return None if None in held else sum((each or Fraction(0) for each in held), Fraction(0)) / days
        brought = [_brought(food, self.rule.measure) for food in eaten]
        energy = [food.nutrients.get(ENERGY) for food in eaten]
        if None in brought or None in energy or not any(energy):
            return None
        whole = sum((each or Fraction(0) for each in energy), Fraction(0))
        return PERCENT * sum((each or Fraction(0) for each in brought), Fraction(0)) / whole

    def silent(self, foods: Iterable[Food]) -> tuple[str, ...]:
        """Return the foods that do not state what the figure needs, by name."""
        return tuple(dict.fromkeys(food.name for food in foods if self.counted(food) is None))


def weekly_figures(pattern: Pattern, monday: date, days: int) -> tuple[Figure, ...]:
    """Return the weekly figures of nutrients that hold for a week of so many days; none where it is not judged."""
    if monday < pattern.held_from or not pattern.least_days <= days <= pattern.most_days:
        return ()
    return tuple(figure for rule in rules(pattern, monday, days) for figure in _figures(rule))


def _figures(rule: Rule) -> Iterator[Figure]:
    if rule.force is Force.RULE and rule.per in (Per.AVERAGE, Per.ENERGY_SHARE):
        if rule.least is not None:
            yield Figure(rule, rule.least, is_least=True)
        if rule.most is not None:
            yield Figure(rule, rule.most, is_least=False)


def _brought(food: Food, measure: str) -> Fraction | None:
    """The kilocalories that the nutrient brings; nothing of milk where the rule leaves milk out."""
    nutrient = measure.removesuffix(BUT_MILK)
    if measure.endswith(BUT_MILK) and is_milk(food):
        return Fraction(0)
    held = food.nutrients.get(nutrient)
    return None if held is None else KCAL_PER_G[nutrient] * held
