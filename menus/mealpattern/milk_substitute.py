"""A drink held nutrient by nutrient against what the regulation asks of one that stands in for milk."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.hazards import rows

ML_PER_CUP = 240
"""The cup of nutrition labels (21 CFR 101.9(b)(5)(viii), memory)."""


@dataclass(frozen=True, slots=True)
class Line:
    """One nutrient of a cup. `found` is None where the label does not state it."""

    nutrient: str
    what: str
    found: Fraction | None
    least: Fraction
    unit: str
    source: str
    verified: str

    @property
    def missing(self) -> Fraction | None:
        """By how much it falls short; None where it is not stated."""
        return None if self.found is None else max(Fraction(0), self.least - self.found)


@dataclass(frozen=True, slots=True)
class Comparison:
    """The drink against the whole table."""

    lines: tuple[Line, ...]

    @property
    def short(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.missing)

    @property
    def not_stated(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.found is None)

    @property
    def equivalent(self) -> bool | None:
        """Whether it reaches every figure; None where what is stated does and something is not stated."""
        if self.short:
            return False
        return None if self.not_stated else True


def compare(nutrients: Mapping[str, Fraction | None], *, serving_ml: Fraction | int = ML_PER_CUP) -> Comparison:
    """Hold the nutrients of a serving against the table, scaled to a cup.

    Vitamins A and D may be given in the international units of older labels, which have figures of their own: one
    cannot be turned into the other without knowing the form of the vitamin. What is None or not there is not stated.
    """
    if serving_ml <= 0:
        raise ValueError(f"A serving of {serving_ml} ml holds nothing to compare; give the serving size of the label.")
    return Comparison(tuple(_line(row, nutrients, Fraction(ML_PER_CUP) / serving_ml) for row in table()))


def table() -> tuple[dict[str, str], ...]:
    """Return the rows of the regulation's table."""
    return tuple(rows("milk_substitute.csv"))


def _line(row: dict[str, str], nutrients: Mapping[str, Fraction | None], cups: Fraction) -> Line:
    older = row["older_nutrient"]
    by_older = bool(older) and nutrients.get(row["nutrient"]) is None and nutrients.get(older) is not None
    nutrient = older if by_older else row["nutrient"]
    stated = nutrients.get(nutrient)
    return Line(
        nutrient=nutrient,
        what=row["what"],
        found=None if stated is None else stated * cups,
        least=Fraction(row["older_least"] if by_older else row["least"]),
        unit=row["older_unit"] if by_older else row["unit"],
        source=row["older_source"] if by_older else row["source"],
        verified=row["verified"],
    )
