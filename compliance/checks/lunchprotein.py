"""The protein of a lunchbox, as far as the composition of its foods is known. Advice, never an outcome."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from compliance.checks.lunchfood import household_of
from menus.mealpattern.aminos import foods as protein_foods
from menus.mealpattern.aminos import reference_for
from menus.mealpattern.protein import Score, part, score
from roster.life.lunchbox import Packed


@dataclass(frozen=True, slots=True)
class Protein:
    """The protein of the foods whose composition is known, eaten together; and those not counted."""

    score: Score
    grams: Fraction
    left_out: tuple[Packed, ...]


def protein_of(packed: Sequence[Packed], months: int | None) -> Protein | None:
    """Return it for a child of that age; None where nothing is known, or no reference is published for the age."""
    reference = reference_for(months)
    known = [food for each in packed if (food := household_of(each)) and food.protein]
    if reference is None or not known:
        return None
    parts = [part(protein_foods()[food.protein], food.grams) for food in known]
    left_out = tuple(each for each in packed if not ((food := household_of(each)) and food.protein))
    return Protein(score(parts, reference), sum((each.protein_g for each in parts), Fraction(0)), left_out)
