"""Foods of the USDA National Nutrient Database, release 28, that kitchens here need: what 100 g hold, edible part.

The rows are as published; `doubt` tells what is known to be odd about one. An empty cell is not reported, never zero.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from importlib.resources import files

from menus.mealpattern.nutrients.panel import NUTRIENTS

HUNDRED = Fraction(100)
COLUMNS = ("total_fat_g", "carbohydrate_g", "fiber_g", "water_g")
"""What a row is checked by, and no meal pattern counts."""
MOST_GRAMS = Fraction(105)
"""Of 100 g, what protein, fat, carbohydrate and water may come to: above it a figure has slipped."""
FAT_KCAL, OTHER_KCAL = 9, 4
OFF, OFF_KCAL = Fraction(15, 100), 8
"""How far energy may be from the general factors of fat (9), protein and carbohydrate (4): foods have their own.
A food of much fiber may have less still."""
FIBROUS = Fraction(85, 100)


@dataclass(frozen=True, slots=True)
class TableFood:
    """One row by its NDB number."""

    ndb_no: str
    description: str
    amounts: Mapping[str, Fraction]  # of NUTRIENTS and COLUMNS, in 100 g
    doubt: str
    source: str
    verified: str

    @property
    def panel(self) -> dict[str, Fraction]:
        """What 100 g hold of what meals are held against."""
        return {name: self.amounts[name] for name in NUTRIENTS if name in self.amounts}


@cache
def table() -> dict[str, TableFood]:
    """Return every food by its NDB number."""
    return {row["ndb_no"]: _food(row) for row in _rows("foods.csv")}


@cache
def citation(source: str) -> str:
    """Return the full name of a source from its short one."""
    return {row["key"]: row["citation"] for row in _rows("sources.csv")}[source]


def faults(food: TableFood) -> list[str]:
    """Return what cannot be right in a row by its own figures; a missing figure is not held against it."""
    held = food.amounts
    parts = [held.get(name) for name in ("protein_g", "total_fat_g", "carbohydrate_g", "water_g")]
    known = [part for part in parts if part is not None]
    found = []
    if sum(known, Fraction(0)) > MOST_GRAMS:
        found.append(f"protein, fat, carbohydrate and water come to {float(sum(known)):.1f} g of 100 g")
    if held.get("saturated_fat_g", Fraction(0)) > held.get("total_fat_g", HUNDRED):
        found.append("more saturated fat than fat")
    if held.get("total_sugars_g", Fraction(0)) > held.get("carbohydrate_g", HUNDRED) + 1:
        found.append("more sugars than carbohydrate")
    if len(known) == len(parts) and "energy_kcal" in held and not _energy_fits(held):
        found.append(f"{float(held['energy_kcal']):.0f} kcal, which its protein, fat and carbohydrate do not give")
    return found


def _energy_fits(held: Mapping[str, Fraction]) -> bool:
    protein_and_fat = OTHER_KCAL * held["protein_g"] + FAT_KCAL * held["total_fat_g"]
    digested = max(Fraction(0), held["carbohydrate_g"] - held.get("fiber_g", Fraction(0)))
    most = protein_and_fat + OTHER_KCAL * held["carbohydrate_g"]
    least = protein_and_fat + OTHER_KCAL * digested
    return least * (1 - OFF) * FIBROUS - OFF_KCAL <= held["energy_kcal"] <= most * (1 + OFF) + OFF_KCAL


def _food(row: Mapping[str, str]) -> TableFood:
    return TableFood(
        ndb_no=row["ndb_no"],
        description=row["description"],
        amounts={name: Fraction(row[name]) for name in (*NUTRIENTS, *COLUMNS) if row.get(name)},
        doubt=row["doubt"],
        source=row["source"],
        verified=row["verified"],
    )


def _rows(name: str) -> list[dict[str, str]]:
    with (files("menus.mealpattern.nutrients") / "data" / name).open(encoding="utf-8") as lines:
        return list(csv.DictReader(lines))
