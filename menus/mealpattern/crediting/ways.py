"""What an amount of a food credits, as the data file holds it, with where that was published."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from menus.mealpattern.crediting.foods import Food
from menus.mealpattern.crediting.quantity import UNITS
from menus.mealpattern.crediting.tables import Phrases, fraction, holds_any, phrases, rows


@dataclass(frozen=True, slots=True)
class Way:
    """What an amount of a food credits, and for which forms of it."""

    food: str
    when: Phrases
    unless: Phrases
    unit: str  # as in `Piece`
    amount: Fraction  # in that unit
    credits: Fraction
    ready: Fraction | None  # share that is left of the food as purchased, where the amount is as purchased
    apart: bool  # credits more than the volume it takes: tomato paste, dried fruit
    written: str
    source: str
    verified: str

    @property
    def rate(self) -> Fraction:
        return self.credits / self.amount

    def said(self, words: frozenset[str]) -> str:
        """Return the amount as its source writes it, with the form that a name with these words has."""
        form = next((" ".join(phrase) for phrase in self.when if words.issuperset(phrase)), "")
        return f"{self.written} ({form})" if form else self.written

    def fits(self, words: frozenset[str]) -> bool:
        """Tell whether it speaks of a food with these words in its name."""
        return (not self.when or holds_any(self.when, words)) and not holds_any(self.unless, words)


@cache
def ways(food: Food) -> tuple[Way, ...]:
    """Return the ways of a food in the order of the file, those of its component last."""
    own = tuple(way for way in all_ways() if way.food == food.id)
    return (*own, *(way for way in all_ways() if food.component and way.food == f"any {food.component}"))


@cache
def citation(source: str) -> str:
    """Return the full name of a source from its short one."""
    return _citations()[source]


@cache
def _citations() -> dict[str, str]:
    return {row["key"]: row["citation"] for row in rows("sources.csv")}


@cache
def all_ways() -> tuple[Way, ...]:
    """Return every row in the order of the file: of the ways that fit an ingredient, the first counts."""
    return tuple(_way(row) for row in rows("ways.csv"))


def _way(row: dict[str, str]) -> Way:
    base, factor = UNITS.get(row["unit"], (row["unit"], Fraction(1)))
    return Way(
        food=row["food"],
        when=phrases(row["when"]),
        unless=phrases(row["unless"]),
        unit=base,
        amount=Fraction(row["amount"]) * factor,
        credits=Fraction(row["credits"]),
        ready=fraction(row["ready"]),
        apart=row["apart"] == "yes",
        written=f"{row['amount']} {row['unit']}",
        source=row["source"],
        verified=row["verified"],
    )
