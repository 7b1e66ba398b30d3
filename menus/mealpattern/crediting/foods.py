"""The foods that recipes are made of, as the data files here hold them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache

from menus.mealpattern.crediting.components import Component
from menus.mealpattern.crediting.tables import Phrases, fraction, phrases, rows


@dataclass(frozen=True, slots=True, eq=False)
class Food:
    """A food, or a kind of thing that credits nothing (`component` None), or one that its maker must credit.

    One row is one object, so that looking one up does not compare all its phrases.
    """

    id: str
    words: Phrases
    component: Component | None
    why: str = ""  # why nothing is credited, or why the maker must be asked
    by_maker: bool = False
    cup_grams: Fraction | None = None
    only_in: Phrases = ()  # credits only in a recipe whose title holds one of these ("smoothie")
    beside_another: bool = False  # a meat alternate only beside another meat or meat alternate
    source: str = ""
    verified: str = ""


@cache
def foods() -> tuple[Food, ...]:
    """Return every row: foods that credit, things that never do, and products that their maker must credit."""
    return (
        *(_credited(row) for row in rows("foods.csv")),
        *(_row(row) for row in rows("not_credited.csv")),
        *(replace(_row(row), by_maker=True) for row in rows("by_maker.csv")),
    )


def _credited(row: dict[str, str]) -> Food:
    return replace(
        _row(row),
        cup_grams=fraction(row["cup_g"]),
        only_in=phrases(row["only_in"]),
        beside_another=row["beside_another"] == "yes",
    )


def _row(row: dict[str, str]) -> Food:
    component = row.get("component")
    return Food(
        id=row["id"],
        words=phrases(row["words"]),
        component=Component(component) if component else None,
        why=row.get("why", ""),
        source=row["source"],
        verified=row["verified"],
    )
