"""Nutrients of a week: what is stated, and of how much of the week. What is not stated is never taken for nothing."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from menus.mealpattern.patterns.amount import Amount, exactly
from menus.mealpattern.patterns.measure import amount_of
from menus.mealpattern.patterns.week import Food, Week

ENERGY = "energy_kcal"
KCAL_PER_G = {"saturated_fat_g": 9, "added_sugars_g": 4}
"""The general factors of energy for fat and carbohydrate (21 CFR 101.9(c)(1), memory)."""
BUT_MILK = "-milk"
"""Ends a measure that leaves fluid milk out: a food that credits milk and nothing else."""


def average(week: Week, nutrient: str) -> Amount:
    """Return the mean of the days."""
    total = _total(week.foods, nutrient)
    days = len(week.days)
    high = None if total.high is None else total.high / days
    return Amount(total.low / days, high, total.stated, total.foods)


def energy_share(week: Week, measure: str) -> Amount | None:
    """Return how many percent of the energy the nutrient brings; None where the foods have no energy at all."""
    nutrient = measure.removesuffix(BUT_MILK)
    left_out = [measure.endswith(BUT_MILK) and _is_milk(food) for food in week.foods]
    counted = [food for food, out in zip(week.foods, left_out, strict=True) if not out]
    grams, energy = _total(counted, nutrient), _total(week.foods, ENERGY)
    if energy.high == 0:
        return None
    percent = 100 * KCAL_PER_G[nutrient]
    both = sum(
        ENERGY in food.nutrients and (out or nutrient in food.nutrients)
        for food, out in zip(week.foods, left_out, strict=True)
    )
    return Amount(
        low=Fraction(0) if energy.high is None else percent * grams.low / energy.high,
        high=None if grams.high is None or not energy.low else percent * grams.high / energy.low,
        stated=both,
        foods=len(week.foods),
    )


def share(part: Amount, whole: Amount) -> Amount | None:
    """Return the percentage of a known whole; None where there is no whole."""
    if not whole.low:
        return None
    high = None if part.high is None else 100 * part.high / whole.low
    return Amount(100 * part.low / whole.low, high)


def _total(foods: Iterable[Food], nutrient: str) -> Amount:
    served = tuple(foods)
    values = [food.nutrients[nutrient] for food in served if nutrient in food.nutrients]
    low = sum(values, Fraction(0))
    if len(values) == len(served):
        exact = exactly(low)
        return Amount(exact.low, exact.high, len(values), len(served))
    return Amount(low, None, len(values), len(served))


def _is_milk(food: Food) -> bool:
    return amount_of(food, "milk") > 0 and all(name == "milk" for name, value in food.credits.items() if value)
