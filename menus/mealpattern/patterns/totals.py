"""What a week comes to, and of how much of it that is known."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from menus.mealpattern.patterns.measure import credited
from menus.mealpattern.patterns.nutrients import average
from menus.mealpattern.patterns.sentences import number
from menus.mealpattern.patterns.tables import units
from menus.mealpattern.patterns.week import Week


def totals(week: Week) -> dict[str, Any]:
    """Return components by day and week, and each nutrient that any food states."""
    stated = dict.fromkeys(name for food in week.foods for name in food.nutrients)
    return {
        "components": {name: _component(week, name, unit) for name, unit in units(week.pattern.scheme).items()},
        "nutrients": {name: _nutrient(week, name) for name in stated},
    }


def _component(week: Week, name: str, unit: str) -> dict[str, Any]:
    """Where children choose, the least that they may choose, and beside it the most."""
    days, whole = [credited(foods, name) for foods in week.days], credited(week.foods, name)
    most = {"days_most": [number(day.high) for day in days], "week_most": number(whole.high)} if whole.spread else {}
    return {"days": [number(day.low) for day in days], "week": number(whole.low), "unit": unit, **most}


def _nutrient(week: Week, name: str) -> dict[str, Any]:
    """`average` is only there when every food states it; `stated_days` are sums of what is stated, the least chosen."""
    mean = average(week, name)
    most = {"average_most": number(mean.high)} if mean.spread else {}
    return {
        "average": number(mean.high) if mean.known else None,
        "stated_average": number(mean.low),
        **most,
        "stated_days": [number(average(replace(week, days=(foods,)), name).low) for foods in week.days],
        "stated": mean.stated,
        "of_foods": mean.foods,
    }
