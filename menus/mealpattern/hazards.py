"""The foods on which young children choke, as published lists name them and the data file here holds them."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

from menus.mealpattern.tokens import words_of

TURNED = frozenset({"liquid", "smooth", "powder", "flavour", "absent"})
"""Forms in which a food is another one: juice, butter, flour, flavouring, "-free"."""


class Action(StrEnum):
    """What the lists ask for."""

    NEVER = "never"  # no way of cutting makes it fit
    CHANGE = "change"  # cut, cook or mash it first
    LOOK = "look"  # a dish whose name hides what is in it


@dataclass(frozen=True, slots=True)
class Hazard:
    """One row: a food, under which age it matters, and what makes it fit."""

    id: str
    food: str
    words: frozenset[tuple[str, ...]]  # names of the food
    as_served: frozenset[tuple[str, ...]]  # names that say the risky form too
    alone: frozenset[tuple[str, ...]]  # names that count only when they are all that an item says
    in_list: bool  # whether `words` count in an ingredient list, where the form is seldom said
    action: Action
    under_us: int  # months
    under_uk: int
    mended_by: frozenset[str]  # forms in which it fits
    what: str  # what to do, as a sentence
    source: str
    verified: str  # "read" | "memory": whether the source was seen to name this food
    what_verified: str  # "read" | "derived": whether the remedy was read, or follows from the general rule on size
    from_us: int = 0  # months; below it another row asks for more
    from_uk: int = 0

    @property
    def turned_by(self) -> frozenset[str]:
        """Forms in which it is no longer the food that the lists speak of."""
        whole_kind = {"flavour", "absent"} if self.action is Action.NEVER else TURNED
        return self.mended_by | whole_kind

    def under(self, place: str) -> int:
        """Return the age in months below which it matters there; where no list of the place is known, the strictest."""
        ages = {"us": self.under_us, "uk": self.under_uk}
        return ages.get(place, max(ages.values()))

    def begins(self, place: str) -> int:
        """Return the age in months from which the row counts there: where a stricter row leaves off."""
        return {"us": self.from_us, "uk": self.from_uk}.get(place, max(self.from_us, self.from_uk))


@cache
def hazards() -> tuple[Hazard, ...]:
    """Return the rows of the data file, read once."""
    return tuple(_hazard(row) for row in rows("choking.csv"))


@cache
def grown(place: str) -> int:
    """Return the age in months from which no row of the place matters."""
    return max(hazard.under(place) for hazard in hazards())


@cache
def silent_phrases() -> frozenset[tuple[str, ...]]:
    """Return the names that hold a hazard's words and are another food (grape leaf, popcorn shrimp)."""
    return frozenset(words_of(row["words"]) for row in rows("not_choking.csv"))


def rows(name: str) -> Iterator[dict[str, str]]:
    """Yield the rows of a data file of this package."""
    with (files("menus.mealpattern") / "data" / name).open(encoding="utf-8") as lines:
        yield from csv.DictReader(lines)


def phrases(cell: str) -> frozenset[tuple[str, ...]]:
    """Return the phrases of a cell, parted by semicolons."""
    return frozenset(words_of(phrase) for phrase in cell.split(";") if phrase.strip())


def _hazard(row: dict[str, str]) -> Hazard:
    return Hazard(
        id=row["id"],
        food=row["food"],
        words=phrases(row["words"]),
        as_served=phrases(row["as_served"]),
        alone=phrases(row["alone"]),
        in_list=row["in_list"] == "yes",
        action=Action(row["action"]),
        under_us=int(row["under_us"]),
        under_uk=int(row["under_uk"]),
        mended_by=frozenset(form for form in row["mended_by"].split(";") if form),
        what=row["what"],
        source=row["source"],
        verified=row["verified"],
        what_verified=row["what_verified"],
        from_us=int(row["from_us"]),
        from_uk=int(row["from_uk"]),
    )
