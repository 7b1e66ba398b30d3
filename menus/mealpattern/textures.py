"""Levels of texture by the numbers of the open standard, 0 to 7, and what a stated or unstated level means.

A level is what a clinician set. Nothing here says that one level may stand for another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from menus.mealpattern.hazards import rows

FOOD, DRINK = "food", "drink"
ORDINARY, THIN = 7, 0


class Fits(StrEnum):
    """How the level of a food stands to the level that was set."""

    AS_SET = "as-set"
    UNKNOWN = "unknown"  # nobody stated the level of the food: ask
    OTHER = "other"  # it is stated, and another: ask, whichever way it differs
    ABOVE = "above"  # a food with more to chew, or a drink thinner, than was set: withhold


@dataclass(frozen=True, slots=True)
class Level:
    """One level for food or for drink, in neutral words of our own."""

    number: int
    of: str  # "food" | "drink"
    words: str
    es: str
    source: str
    verified: str  # "read" | "memory"

    def named(self, language: str) -> str:
        """Return number and words, in Spanish for `es`, else in English."""
        return f"{self.number} ({self.es if language == 'es' else self.words})"


@cache
def levels(of: str) -> dict[int, Level]:
    """Return the levels for "food" or "drink" by number."""
    found = (row for row in rows("texture_levels.csv") if row["of"] == of)
    return {
        int(row["level"]): Level(int(row["level"]), of, row["words"], row["es"], row["source"], row["verified"])
        for row in found
    }


@dataclass(frozen=True, slots=True)
class Wanted:
    """One level that is set for somebody, which a dish is not stated to have."""

    of: str  # "food" | "drink"
    level: int
    fits: Fits  # never AS_SET

    @property
    def named(self) -> str:
        """Of what the level is, and its number."""
        return f"{self.of} level {self.level}"


def wanted(
    food: int | None, drink: int | None, stated: int | None, may_be: Sequence[str] = (FOOD, DRINK)
) -> tuple[Wanted, ...]:
    """Return what the levels set for a child ask of a dish whose level is stated, or is not.

    Nothing for ordinary food and thin drink. What may be eaten or drunk has to fit as either, until a stated level that
    only drinks have (0 to 2), or only foods (5 to 7), settles which it is.
    """
    kinds = [of for of in may_be if stated in levels(of)] or may_be
    asked = [
        Wanted(of, level, fits(stated, level, of))
        for of, level, ordinary in ((FOOD, food, ORDINARY), (DRINK, drink, THIN))
        if of in kinds and level is not None and level != ordinary
    ]
    return () if any(each.fits is Fits.AS_SET for each in asked) else tuple(asked)


def fits(stated: int | None, level: int, of: str) -> Fits:
    """Tell how a food or drink of that stated level, or of none, stands to the level that was set."""
    if stated is None:
        return Fits.UNKNOWN
    if stated == level:
        return Fits.AS_SET
    harder = stated > level if of == FOOD else stated < level
    return Fits.ABOVE if harder else Fits.OTHER
