"""What a food holds in so many grams, by its label or a table of foods. What is not stated is not in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

NUTRIENTS = ("energy_kcal", "saturated_fat_g", "sodium_mg", "total_sugars_g", "added_sugars_g", "protein_g")
"""What is added up, by the names that a week of `check_week` gives it."""


@dataclass(frozen=True, slots=True)
class Panel:
    """What `basis_g` grams hold, and how the measures of recipes are turned into grams; None: not known."""

    basis_g: Fraction
    amounts: Mapping[str, Fraction]
    piece_g: Fraction | None = None
    cup_g: Fraction | None = None
    edible: Fraction = Fraction(1)  # share of the weight in a recipe that is eaten
    source: str = ""

    def in_grams(self, grams: Fraction) -> dict[str, Fraction]:
        """Return what so many grams hold."""
        return {name: amount * grams / self.basis_g for name, amount in self.amounts.items()}
