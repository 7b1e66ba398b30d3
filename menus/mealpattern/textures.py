"""Levels of texture by the numbers of the open standard, 0 to 7, and what a stated or unstated level means.

A level is what a clinician set. Nothing here says that one level may stand for another.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from menus.mealpattern.hazards import rows

FOOD, DRINK = "food", "drink"
ORDINARY = 7


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


def fits(stated: int | None, level: int, of: str) -> Fits:
    """Tell how a food or drink of that stated level, or of none, stands to the level that was set."""
    if stated is None:
        return Fits.UNKNOWN
    if stated == level:
        return Fits.AS_SET
    harder = stated > level if of == FOOD else stated < level
    return Fits.ABOVE if harder else Fits.OTHER
