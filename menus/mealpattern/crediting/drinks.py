"""Kinds of food that a week has rules of their own for: milk by its fat, juice, yogurt, breakfast cereal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.lines import Line
from menus.mealpattern.crediting.tables import Phrases, holds_any, phrases, rows
from menus.mealpattern.tokens import words_of


@dataclass(frozen=True, slots=True)
class Special:
    """What a dish is beside its credits, as `check_week` takes it. None: it is not said."""

    juice: bool = False
    product: str | None = None
    milk_fat: str | None = None
    flavored: bool | None = None


PRODUCTS = {"yogurt": "yogurt", "cereal": "breakfast_cereal"}


def special(lines: Sequence[Line]) -> Special:
    """Return what a dish is by its lines. A kind of product is told only where the dish is that product alone."""
    credited = [line for line in lines if line.component]
    if credited and all(line.food and line.food.id == "fruit_juice" for line in credited):
        return Special(juice=True)
    if len(lines) != 1 or not credited or credited[0].food is None:
        return Special()
    name = frozenset(words_of(credited[0].name.replace("%", " percent")))
    if credited[0].component is Component.MILK:
        flavored = holds_any(_words("flavored"), name)
        fat = next((fat for fat in _fats() if holds_any(_words(fat), name)), None)
        return Special(product="flavored_milk" if flavored else None, milk_fat=fat, flavored=flavored)
    return Special(product=PRODUCTS.get(credited[0].food.id))


@cache
def _fats() -> tuple[str, ...]:
    return tuple(row["says"] for row in rows("milk_words.csv") if row["says"] != "flavored")


@cache
def _words(says: str) -> Phrases:
    return next(phrases(row["words"]) for row in rows("milk_words.csv") if row["says"] == says)
