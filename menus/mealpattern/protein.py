"""Amino-acid score and PDCAAS of what is eaten together, by the method of FAO/WHO 1991. Advice, not a rule.

The proteins are mixed first and scored then; two scores are never averaged. An amino acid that is not stated is unknown
and not zero, and the score is then only known not to be above that of the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.aminos import AMINO_ACIDS, ProteinFood, Reference

LEAST_SUM, MOST_SUM = 300, 850
"""Between these, in mg per g, lie the sums of the amino acids of nearly all foods of the USDA table; beyond them a row
is more likely a slip than a protein (78 of 4,710 foods; some dairy foods are among them)."""


@dataclass(frozen=True, slots=True)
class Part:
    """The protein of one food in what is eaten. Amino acids are mg per g of protein (nitrogen times 6.25)."""

    name: str
    protein_g: Fraction
    aminos: Mapping[str, Fraction]  # what is not stated is not in it
    digestibility: Fraction | None  # true faecal, as a share of one; None where no table gives it

    @property
    def doubtful(self) -> bool:
        """Whether the amino acids, all stated, add up to less or more than a protein has."""
        stated = all(amino in self.aminos for amino in AMINO_ACIDS)
        return stated and not LEAST_SUM <= sum(self.aminos[amino] for amino in AMINO_ACIDS) <= MOST_SUM


def part(food: ProteinFood, grams: Fraction | int) -> Part:
    """Return the protein of so many grams of a food."""
    return Part(food.name, food.protein_g * grams / 100, food.aminos_mg, food.digestibility)


@dataclass(frozen=True, slots=True)
class Score:
    """How a mixture of proteins stands to a reference."""

    reference: Reference
    ratios: Mapping[str, Fraction]  # by amino acid: what there is over what the reference asks
    digestibility: Fraction | None
    unknown: tuple[str, ...]  # amino acids that some part does not state
    doubtful: tuple[str, ...]  # names of parts whose figures look like a slip

    @property
    def limiting(self) -> str | None:
        """The amino acid of which there is least against the reference, among those that are known."""
        return min(self.ratios, key=lambda amino: self.ratios[amino], default=None)

    @property
    def at_most(self) -> Fraction | None:
        """The lowest known ratio: the score is this or less."""
        return None if self.limiting is None else self.ratios[self.limiting]

    @property
    def amino_acid_score(self) -> Fraction | None:
        """The lowest ratio, not cut at one; None while an amino acid is unknown or there is no protein."""
        return None if self.unknown else self.at_most

    @property
    def pdcaas(self) -> Fraction | None:
        """The score times the digestibility, cut at one; None where either is not known."""
        if self.amino_acid_score is None or self.digestibility is None:
            return None
        return min(Fraction(1), self.amino_acid_score * self.digestibility)

    @property
    def complete(self) -> bool | None:
        """Whether each amino acid reaches the reference, before digestion; None where that is not known."""
        if self.at_most is not None and self.at_most < 1:
            return False
        return None if self.amino_acid_score is None else True


def score(parts: Iterable[Part], reference: Reference) -> Score:
    """Return the score of the parts eaten together; each counts by its grams of protein."""
    mixed = [part for part in parts if part.protein_g > 0]
    total = sum((part.protein_g for part in mixed), Fraction(0))
    unknown = tuple(amino for amino in AMINO_ACIDS if any(amino not in part.aminos for part in mixed))
    ratios = {
        amino: sum(part.protein_g * part.aminos[amino] for part in mixed) / total / reference.figures[amino]
        for amino in AMINO_ACIDS
        if mixed and amino not in unknown
    }
    return Score(reference, ratios, _digestibility(mixed, total), unknown, tuple(p.name for p in mixed if p.doubtful))


@dataclass(frozen=True, slots=True)
class Complement:
    """Whether foods make up for each other's lack."""

    protein_g: tuple[Fraction, ...]
    alone: tuple[Score, ...]
    together: Score

    @property
    def helps(self) -> bool | None:
        """Whether the mixture does better than its parts would on their own; None where a score is not known.

        On their own they come to the mean of their scores, each cut at one, by grams of protein: what a part has too
        much of is then lost. A mixture of foods that lack the same comes to that mean and no more.
        """
        together = self.together.amino_acid_score
        alone = [each.amino_acid_score for each in self.alone]
        known = [min(Fraction(1), found) for found in alone if found is not None]
        if together is None or len(known) < len(alone):
            return None
        mean = sum((grams * found for grams, found in zip(self.protein_g, known, strict=True)), Fraction(0))
        return min(Fraction(1), together) > mean / sum(self.protein_g)


def complement(parts: Iterable[Part], reference: Reference) -> Complement:
    """Return the scores of the parts alone and eaten together."""
    eaten = tuple(part for part in parts if part.protein_g > 0)
    alone = tuple(score([part], reference) for part in eaten)
    return Complement(tuple(part.protein_g for part in eaten), alone, score(eaten, reference))


def _digestibility(parts: list[Part], total: Fraction) -> Fraction | None:
    known = [part.protein_g * part.digestibility for part in parts if part.digestibility is not None]
    return sum(known, Fraction(0)) / total if parts and len(known) == len(parts) else None
