"""Plain foods of a household: what is in them, how they may be cut, what they credit, and how they keep."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from menus.mealpattern.hazards import rows


@dataclass(frozen=True, slots=True)
class Shape:
    """A way in which a food is cut or cooked."""

    code: str
    words: str
    es: str

    def named(self, language: str) -> str:
        """Return it in Spanish for `es`, else in English."""
        return self.es if language == "es" else self.words


@dataclass(frozen=True, slots=True)
class HouseholdFood:
    """One row. `words` is what a package of it alone would list; with `has_package` its own package has the word."""

    code: str
    name: str
    es: str
    words: str
    choking: str  # the name by which the list of choking hazards knows it, where that is another
    has_package: bool
    shapes: tuple[str, ...]
    portion: str
    credits: Mapping[str, float]  # of one portion, by component: cups, or ounce equivalents
    keeps: str  # "cold" | "hot" | "any"
    protein: str  # name in protein_foods.csv; empty: not known
    grams: int  # of one portion, for its protein
    source: str
    verified: str  # "read" | "memory"

    def named(self, language: str) -> str:
        """Return its name in Spanish for `es`, else in English."""
        return self.es if language == "es" else self.name


@cache
def shapes() -> dict[str, Shape]:
    """Return the ways of cutting and cooking by code, in the order of the file."""
    return {row["code"]: Shape(row["code"], row["words"], row["es"]) for row in rows("food_shapes.csv")}


@cache
def household_foods() -> dict[str, HouseholdFood]:
    """Return the foods by code, in the order of the file."""
    return {row["code"]: _food(row) for row in rows("household_foods.csv")}


def _food(row: dict[str, str]) -> HouseholdFood:
    credited = (pair.split("=") for pair in row["credits"].split(";") if pair)
    return HouseholdFood(
        code=row["code"],
        name=row["name"],
        es=row["es"],
        words=row["words"],
        choking=row["choking"],
        has_package=row["label"] == "yes",
        shapes=tuple(filter(None, row["forms"].split(";"))),
        portion=row["portion"],
        credits={component: float(amount) for component, amount in credited},
        keeps=row["keeps"],
        protein=row["protein"],
        grams=int(row["grams"] or 0),
        source=row["source"],
        verified=row["verified"],
    )
