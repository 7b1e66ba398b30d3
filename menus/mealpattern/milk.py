"""Which milk a program takes for which children, by date. The rows stand in data/milk_types.csv."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cache

from menus.mealpattern.hazards import rows

FATS = {
    "fat_free": frozenset({"fat_free", "skim", "nonfat", "0%"}),
    "low_fat": frozenset({"low_fat", "low_fat_1pct", "1%"}),
    "reduced_fat": frozenset({"reduced_fat", "reduced_fat_2pct", "2%"}),
    "whole": frozenset({"whole"}),
}


@dataclass(frozen=True, slots=True)
class MilkTypes:
    """What may be served as milk."""

    fats: tuple[str, ...]
    flavored: bool
    note: str
    source: str
    verified: str


def milk_types(program: str, group: str, day: date) -> MilkTypes | None:
    """Return what may be served as milk on that day; None where no row is held, as for infants."""
    for row in _table():
        if program in row["programs"].split(";") and group in row["groups"].split(";") and holds(row, day):
            return MilkTypes(
                fats=tuple(row["fats"].split(";")),
                flavored=row["flavored"] == "yes",
                note=row["note"],
                source=row["source"],
                verified=row["verified"],
            )
    return None


@cache
def _table() -> tuple[dict[str, str], ...]:
    return tuple(rows("milk_types.csv"))


def fat_named(name: str) -> str | None:
    """Return the fat level that a name stands for."""
    plain = name.strip().casefold().replace(" ", "_").replace("-", "_")
    return next((fat for fat, names in FATS.items() if plain in names), None)


def holds(row: dict[str, str], day: date) -> bool:
    """Return whether a row with `from` and `to`, both inclusive and either empty, holds on the day."""
    return (row["from"] or date.min.isoformat()) <= day.isoformat() <= (row["to"] or date.max.isoformat())
