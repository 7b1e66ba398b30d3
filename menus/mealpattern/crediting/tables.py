"""The data files of this package, and the phrases in their cells."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from fractions import Fraction
from importlib.resources import files

from menus.mealpattern.tokens import words_of

Phrases = tuple[tuple[str, ...], ...]


def rows(name: str) -> Iterator[dict[str, str]]:
    """Yield the rows of a data file of this package."""
    with (files("menus.mealpattern.crediting") / "data" / name).open(encoding="utf-8") as lines:
        yield from csv.DictReader(lines)


def phrases(cell: str) -> Phrases:
    """Return the phrases of a cell, parted by semicolons."""
    return tuple(words_of(phrase) for phrase in cell.split(";") if phrase.strip())


def holds_any(wanted: Phrases, words: frozenset[str]) -> bool:
    """Tell whether one of the phrases has all its words among these, in any order."""
    return any(words.issuperset(phrase) for phrase in wanted)


def fraction(cell: str) -> Fraction | None:
    """Return the number in a cell, None for an empty one."""
    return Fraction(cell) if cell else None
