"""The ingredients added up to what one serving credits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.crediting import serving as servings_by_words
from menus.mealpattern.crediting.components import VEGETABLES, Component
from menus.mealpattern.crediting.lines import Line, credited
from menus.mealpattern.crediting.recipe import Recipe
from menus.mealpattern.crediting.sums import Sums
from menus.mealpattern.crediting.wording import floored, shown

EIGHTH, QUARTER = Fraction(1, 8), Fraction(1, 4)
LEGUME_PER_CUP = 4
"""Ounce equivalents of meat alternate in a cup of beans, peas or lentils: 1/4 cup is 1 oz eq (7 CFR 210.10)."""


@dataclass(frozen=True, slots=True)
class Crediting:
    """What a serving credits, rounded down; the second answer is for recipes with beans, peas or lentils."""

    credits: dict[str, Fraction]
    if_legume_counted_as_vegetable: dict[str, Fraction] | None
    arithmetic: tuple[str, ...]
    ask: tuple[str, ...]
    lines: tuple[Line, ...] = ()  # in the order of the recipe
    beans_oz_eq: Fraction = Fraction()  # of `credits`: what beans, peas and lentils bring as meat alternate


def credit(recipe: Recipe, *, drinks: bool = False) -> Crediting:
    """Return what one serving of a recipe credits, each step shown. Beans count once: see `Crediting`.

    `drinks`: milk or juice that is all of the recipe is the drink of a meal and credits; elsewhere it does only in a
    smoothie.
    """
    serving = servings_by_words.read(recipe.serving_size)
    alone = drinks and len(recipe.ingredients) == 1
    lines = tuple(
        credited(each, servings=recipe.servings, title=recipe.title, alone=alone) for each in recipe.ingredients
    )
    sums = Sums(lines, serving)
    as_alternate, steps = _answer(sums, legume_is_vegetable=False)
    as_vegetable: dict[str, Fraction] | None = None
    more: list[str] = []
    if sums.of(Component.LEGUME):
        as_vegetable, other = _answer(sums, legume_is_vegetable=True)
        more = [f"Beans, peas and lentils counted as vegetable instead: {step}" for step in other if step not in steps]
    arithmetic = (*(line.sentence for line in lines), *sums.limits(), *steps, *more)
    beans = floored(sums.legume_as_alternate() * LEGUME_PER_CUP, QUARTER)
    return Crediting(as_alternate, as_vegetable, arithmetic, _asked(lines), lines, beans)


def _asked(lines: Iterable[Line]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(line.name for line in lines if line.asked))


def _answer(sums: Sums, *, legume_is_vegetable: bool) -> tuple[dict[str, Fraction], list[str]]:
    exact = _exact(sums, legume_is_vegetable=legume_is_vegetable)
    rounded = {key: floored(amount, _step(key)) for key, amount in exact.items()}
    steps = [_rounding(key, amount, rounded[key]) for key, amount in exact.items() if amount]
    legume = sums.legume_as_alternate()
    if legume and not legume_is_vegetable:
        turned = f"{shown(legume)} cup × {LEGUME_PER_CUP} = {shown(legume * LEGUME_PER_CUP)} oz eq meat alternate"
        steps.insert(0, f"Beans, peas and lentils: {turned}.")
    return {key: amount for key, amount in rounded.items() if amount}, steps


def _exact(sums: Sums, *, legume_is_vegetable: bool) -> dict[str, Fraction]:
    meat, alternate = sums.of(Component.MEAT), sums.of(Component.ALTERNATE)
    if not legume_is_vegetable:
        alternate += sums.legume_as_alternate() * LEGUME_PER_CUP
    vegetables = (*VEGETABLES, Component.LEGUME) if legume_is_vegetable else VEGETABLES
    return {
        "meat_oz_eq": meat,
        "meat_alternate_oz_eq": alternate,
        "meat_meat_alternate_oz_eq": meat + alternate,
        "grains_oz_eq": sums.of(Component.GRAINS),
        **{f"{each}_cup": sums.of(each) for each in (*VEGETABLES, Component.LEGUME)},
        "vegetable_cup": sums.of(*vegetables),
        "fruit_cup": sums.of(Component.FRUIT),
        "milk_cup": sums.of(Component.MILK),
    }


def _step(key: str) -> Fraction:
    return EIGHTH if key.endswith("_cup") else QUARTER


def _rounding(key: str, amount: Fraction, rounded: Fraction) -> str:
    step = "1/8 cup" if key.endswith("_cup") else "1/4 oz eq"
    if not rounded:
        return f"{key}: {shown(amount)}, below {step}, so nothing."
    return f"{key}: {shown(amount)}, rounded down to a whole {step}: {shown(rounded)}."
