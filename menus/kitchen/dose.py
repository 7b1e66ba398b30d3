"""How much of an allergen a serving would bring, beside the reference dose. Information, never an outcome.

For licensed staff alone: a number here changes no evidence and no verdict.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from menus.substances.catalogue import Catalogue

GLUTEN = "gluten"
CAUTIONS = (
    "Information for licensed staff. It decides nothing, and no outcome changes by it.",
    "A reference dose is no limit below which nobody reacts: at it, about one in twenty people with the allergy may.",
    "It is meant for unintended traces in manufactured food. What a kitchen adds can neither be measured nor compared "
    "here, and a supplier's figure is a figure for its samples, not for this package.",
)
"""Codex and FAO/WHO on reference doses (ED05); the rest is common practice, no source."""


class Basis(StrEnum):
    """What a supplier's parts per million are parts of."""

    PROTEIN = "protein"
    FOOD = "food"  # the allergenic food itself, such as peanut
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Dose:
    """The reference dose of one substance, and how much protein the food has from which it comes."""

    substance: str
    mg: Decimal | None  # None: none is recommended
    of: str  # "protein" | "gluten"
    status: str
    note: str
    source: str
    verified: str
    protein_percent: Decimal | None
    protein_form: str
    protein_source: str


@dataclass(frozen=True, slots=True)
class Estimate:
    """What a serving would bring."""

    mg: Decimal
    dose: Dose | None
    ratio: Decimal | None  # how many reference doses that is
    formula: str
    cautions: tuple[str, ...]


@cache
def doses() -> Mapping[str, Dose]:
    """Return the reference doses by code."""
    with (files("menus.kitchen") / "data" / "reference_doses.csv").open(encoding="utf-8") as rows:
        return MappingProxyType({row["substance"]: _dose(row) for row in csv.DictReader(rows)})


def dose_of(substance: str) -> Dose | None:
    """Return the dose of this substance or of the group that it is in; gluten's is for gluten alone.

    A group of which only members have one ("tree nuts") has none. Raises UnknownSubstance.
    """
    above = Catalogue.load().ancestors(substance) - {GLUTEN}
    return doses().get(substance) or next((doses()[code] for code in sorted(above) if code in doses()), None)


def estimate(substance: str, ppm: Decimal, serving_grams: Decimal, basis: Basis = Basis.UNKNOWN) -> Estimate:
    """Return the amount in a serving by a supplier's figure, in mg of protein (of gluten: mg of gluten).

    Where nobody says what the parts are of, they count as protein, which gives the most. Raises ValueError for what is
    no amount, UnknownSubstance for a code that the catalogue does not hold.
    """
    if not (ppm.is_finite() and ppm >= 0 and serving_grams.is_finite() and serving_grams > 0):
        raise ValueError(f"{ppm} ppm in {serving_grams} g is no amount. Give ppm of 0 or more and a serving above 0 g.")
    dose = dose_of(substance)
    share = _share(dose, basis)
    mg = ppm * serving_grams / 1000 * share
    ratio = mg / dose.mg if dose and dose.mg else None
    return Estimate(mg, dose, ratio, _formula(substance, ppm, serving_grams, share, mg, dose), _cautions(dose, basis))


def action_level(dose_mg: Decimal, serving_grams: Decimal) -> Decimal:
    """Return the mg/kg at which a serving brings just the dose: the dose divided by the serving in kg."""
    return dose_mg / (serving_grams / 1000)


def _share(dose: Dose | None, basis: Basis) -> Decimal:
    if basis is Basis.FOOD and dose and dose.protein_percent is not None:
        return dose.protein_percent / 100
    return Decimal(1)


def _formula(
    substance: str, ppm: Decimal, serving_grams: Decimal, share: Decimal, mg: Decimal, dose: Dose | None
) -> str:
    of = dose.of if dose else "protein"
    taken = f"{ppm:f} mg/kg × {serving_grams:f} g ÷ 1,000 × {share:f} = {mg.normalize():f} mg of {of}"
    name = Catalogue.load().get(substance).name
    if dose is None or dose.mg is None:
        return f"{taken} ({name}); there is no reference dose."
    return f"{taken} ({name}); ÷ {dose.mg:f} mg = {(mg / dose.mg).normalize():.3g} of the reference dose."


def _cautions(dose: Dose | None, basis: Basis) -> tuple[str, ...]:
    own = []
    if basis is Basis.FOOD and dose and dose.protein_percent is not None:
        own.append(f"Protein counted as {dose.protein_percent} % ({dose.protein_form}; {dose.protein_source}).")
    elif basis is not Basis.PROTEIN:
        own.append(
            "Counted as if all of it were protein, which gives the most. Ask the supplier what the parts are of."
        )
    if dose and dose.note:
        own.append(f"{dose.note[0].upper()}{dose.note[1:]}.")
    return (*CAUTIONS, *own)


def _dose(row: dict[str, str]) -> Dose:
    return Dose(
        substance=row["substance"],
        mg=Decimal(row["dose_mg"]) if row["dose_mg"] else None,
        of=row["of"],
        status=row["status"],
        note=row["note"],
        source=row["source"],
        verified=row["verified"],
        protein_percent=Decimal(row["protein_percent"]) if row["protein_percent"] else None,
        protein_form=row["protein_form"],
        protein_source=row["protein_source"],
    )
