"""Reference patterns of amino acids by age, and foods whose amino acids are known. The rows stand in data files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from menus.mealpattern.hazards import rows

AMINO_ACIDS = (
    "histidine",
    "isoleucine",
    "leucine",
    "lysine",
    "methionine_cysteine",
    "phenylalanine_tyrosine",
    "threonine",
    "tryptophan",
    "valine",
)
TOGETHER = {
    "methionine_cysteine": ("methionine", "cystine"),
    "phenylalanine_tyrosine": ("phenylalanine", "tyrosine"),
}
"""Amino acids that stand in for one another count as a pair; cystine is what analyses report for cysteine."""
DEFAULT = "fao-2013"


@dataclass(frozen=True, slots=True)
class Reference:
    """What a gram of reference protein holds of each amino acid, in mg, for an age."""

    standard: str
    ages: str
    from_months: int
    to_months: int | None
    figures: Mapping[str, Fraction]
    source: str
    verified: str


@dataclass(frozen=True, slots=True)
class ProteinFood:
    """A food per 100 g. An amino acid that the table does not give is not in `aminos_mg`."""

    name: str
    protein_g: Fraction
    aminos_mg: Mapping[str, Fraction]  # mg per g of protein
    digestibility: Fraction | None
    source: str
    verified: str


@cache
def references() -> tuple[Reference, ...]:
    """Return every reference pattern."""
    return tuple(
        Reference(
            standard=row["standard"],
            ages=row["ages"],
            from_months=int(row["from_months"]),
            to_months=int(row["to_months"]) if row["to_months"] else None,
            figures={amino: Fraction(row[amino]) for amino in AMINO_ACIDS},
            source=row["source"],
            verified=row["verified"],
        )
        for row in rows("amino_acid_patterns.csv")
    )


def reference_for(months: int | None, standard: str = DEFAULT) -> Reference | None:
    """Return the pattern for an age; None where the standard has none. For a group, give the age of the youngest.

    An unknown age takes the youngest pattern of the standard: the one that asks for most.
    """
    those = sorted((each for each in references() if each.standard == standard), key=lambda each: each.from_months)
    if months is None:
        return those[0] if those else None
    return next((each for each in those if _covers(each, months)), None)


@cache
def foods() -> dict[str, ProteinFood]:
    """Return the foods whose amino acids are held, by name."""
    digested = {row["id"]: Fraction(row["percent"]) / 100 for row in rows("protein_digestibility.csv")}
    return {row["food"]: _food(row, digested) for row in rows("protein_foods.csv")}


def _covers(reference: Reference, months: int) -> bool:
    return reference.from_months <= months and (reference.to_months is None or months <= reference.to_months)


def _food(row: dict[str, str], digested: Mapping[str, Fraction]) -> ProteinFood:
    protein = Fraction(row["protein_g"])
    return ProteinFood(
        name=row["food"],
        protein_g=protein,
        aminos_mg={amino: mg for amino in AMINO_ACIDS if (mg := _mg_per_g(row, amino, protein)) is not None},
        digestibility=digested.get(row["digested_as"]),
        source=f"{row['source']}, {row['ndb_no']}",
        verified=row["verified"],
    )


def _mg_per_g(row: dict[str, str], amino: str, protein: Fraction) -> Fraction | None:
    cells = [row[f"{name}_g"] for name in TOGETHER.get(amino, (amino,))]
    return 1000 * sum((Fraction(cell) for cell in cells), Fraction(0)) / protein if all(cells) else None
