"""Nutrients of a week: what is stated, and of how much of the week. What is not stated is never taken for nothing."""

from __future__ import annotations

from fractions import Fraction

from menus.mealpattern.patterns.amount import Amount
from menus.mealpattern.patterns.choices import Row, for_each
from menus.mealpattern.patterns.measure import amount_of
from menus.mealpattern.patterns.week import Food, Week

ENERGY = "energy_kcal"
KCAL_PER_G = {"saturated_fat_g": 9, "added_sugars_g": 4}
"""The general factors of energy for fat and carbohydrate (21 CFR 101.9(c)(1), memory)."""
BUT_MILK = "-milk"
"""Ends a measure that leaves fluid milk out: a food that credits milk and nothing else."""


def average(week: Week, nutrient: str) -> Amount:
    """Return the mean of the days."""
    days = len(week.days)

    def held(food: Food) -> Row:
        return (food.nutrients.get(nutrient, Fraction(0)),)

    found = for_each(week.foods, held, held, lambda row: row[0] / days)
    stated = sum(nutrient in food.nutrients for food in week.foods)
    every = stated == len(week.foods)
    return Amount(
        low=found.low,
        high=found.high if every else None,
        stated=stated,
        foods=len(week.foods),
        spread=found.spread if every else None,
    )


def energy_share(week: Week, measure: str) -> Amount | None:
    """Return how many percent of the energy the nutrient brings; None where the foods have no energy at all."""
    nutrient = measure.removesuffix(BUT_MILK)
    foods = week.foods
    energy = average(week, ENERGY)
    if energy.high == 0:
        return None

    def counts(food: Food) -> bool:
        return not (measure.endswith(BUT_MILK) and is_milk(food))

    def held(food: Food) -> Row:
        grams = food.nutrients.get(nutrient, Fraction(0)) if counts(food) else Fraction(0)
        return grams, -food.nutrients.get(ENERGY, Fraction(0))

    def percent(row: Row) -> Fraction:
        grams, energy = row
        return 100 * KCAL_PER_G[nutrient] * grams / -energy if energy else Fraction(0)

    found = for_each(foods, held, held, percent)
    all_energy = energy.high is not None
    all_grams = all(nutrient in food.nutrients for food in foods if counts(food))
    known = all_energy and all_grams
    return Amount(
        low=found.low if all_energy else Fraction(0),
        high=found.high if all_grams and energy.low else None,
        stated=sum(ENERGY in food.nutrients and (nutrient in food.nutrients or not counts(food)) for food in foods),
        foods=len(foods),
        spread=found.spread if known else None,
    )


def is_milk(food: Food) -> bool:
    """Tell whether the food credits milk and nothing else."""
    return amount_of(food, "milk") > 0 and all(name == "milk" for name, value in food.credits.items() if value)
