"""What a week comes to, and of how much of it that is known."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from menus.mealpattern.patterns.measure import credited
from menus.mealpattern.patterns.nutrients import average
from menus.mealpattern.patterns.sentences import number
from menus.mealpattern.patterns.tables import units
from menus.mealpattern.patterns.week import Food, Week


def totals(week: Week) -> dict[str, Any]:
    """Return components by day and week, and each nutrient that any food states."""
    stated = dict.fromkeys(name for food in week.foods for name in food.nutrients)
    return {
        "components": {name: _component(week, name, unit) for name, unit in units(week.pattern.scheme).items()},
        "nutrients": {name: _nutrient(week, name) for name in stated},
    }


def _component(week: Week, name: str, unit: str) -> dict[str, Any]:
    return {
        "days": [number(credited(foods, name).low) for foods in week.days],
        "week": number(credited(week.foods, name).low),
        "unit": unit,
    }


def _nutrient(week: Week, name: str) -> dict[str, Any]:
    """`average` is only there when every food states it; `stated_days` are sums of what is stated."""
    mean = average(week, name)
    return {
        "average": number(mean.high),
        "stated_average": number(mean.low),
        "stated_days": [number(_sum(foods, name)) for foods in week.days],
        "stated": mean.stated,
        "of_foods": mean.foods,
    }


def _sum(foods: Iterable[Food], name: str) -> Fraction:
    return sum((food.nutrients.get(name, Fraction(0)) for food in foods), Fraction(0))
