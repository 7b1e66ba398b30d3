"""Foods that may each be had, and not together: what a combination in the catalogue is made of."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two: its name as people say it, and the substances of the catalogue that it is."""

    name: str
    substances: tuple[str, ...]
    source: str
    verified: str  # "read" | "memory"


@dataclass(frozen=True, slots=True)
class Combination:
    """A substance of the kind "combination", and the two sides that may not meet."""

    code: str
    one: Side
    other: Side

    @property
    def sides(self) -> tuple[tuple[Side, Side], tuple[Side, Side]]:
        """Each side with the one that it may not meet."""
        return ((self.one, self.other), (self.other, self.one))


@cache
def combinations() -> Mapping[str, Combination]:
    """Return the combinations of combinations.csv by code. Raises ValueError for one that has not two sides."""
    sides: dict[str, list[Side]] = {}
    with (files("menus.substances") / "data" / "combinations.csv").open(encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            side = Side(row["name"], tuple(row["substances"].split(";")), row["source"], row["verified"])
            sides.setdefault(row["code"], []).append(side)
    return MappingProxyType({code: _combination(code, found) for code, found in sides.items()})


def _combination(code: str, sides: list[Side]) -> Combination:
    if len(sides) != 2:
        raise ValueError(f"combinations.csv: {code} has {len(sides)} rows; give it one for each of its two sides")
    return Combination(code, *sides)
