"""What one serving of a dish holds, and of how much of its weight that is known."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from menus.mealpattern.nutrients.panel import NUTRIENTS, Panel


@dataclass(frozen=True, slots=True)
class Weighed:
    """One line of a dish in a serving: None grams where its weight cannot be told, no panel where nothing is stated."""

    name: str
    grams: Fraction | None
    panel: Panel | None


@dataclass(frozen=True, slots=True)
class Held:
    """What a serving holds by what is stated.

    `covered` is the share of its weight, from 0 to 1, that states the nutrient; None where some weight is not known,
    so that no share can be told. Only what is covered whole is a total; `amounts` of others are a part of it.
    """

    grams: Fraction | None
    amounts: Mapping[str, Fraction] = field(default_factory=dict)
    covered: Mapping[str, Fraction | None] = field(default_factory=dict)
    missing: tuple[str, ...] = ()  # names of lines that state nothing, or whose weight cannot be told

    @property
    def totals(self) -> dict[str, Fraction]:
        """What is known whole: what is missing is left out, and never taken for nothing."""
        return {name: amount for name, amount in self.amounts.items() if self.covered.get(name) == 1}


def held(lines: Iterable[Weighed]) -> Held:
    """Return what the lines hold together."""
    parts = tuple(lines)
    weights = [line.grams for line in parts if line.grams is not None]
    whole = sum(weights, Fraction(0)) if parts and len(weights) == len(parts) else None
    amounts: dict[str, Fraction] = {}
    covered: dict[str, Fraction | None] = {}
    for nutrient in NUTRIENTS:
        stating = [line for line in parts if _states(line, nutrient)]
        amounts[nutrient] = sum((_amount(line, nutrient) for line in stating), Fraction(0))
        stated = sum((line.grams or Fraction(0) for line in stating), Fraction(0))
        covered[nutrient] = None if not whole else stated / whole
    missing = tuple(dict.fromkeys(line.name for line in parts if line.panel is None or line.grams is None))
    return Held(whole, amounts, covered, missing)


def _states(line: Weighed, nutrient: str) -> bool:
    return line.grams is not None and line.panel is not None and nutrient in line.panel.amounts


def _amount(line: Weighed, nutrient: str) -> Fraction:
    assert line.panel is not None and line.grams is not None  # as it states the nutrient
    return line.panel.in_grams(line.grams)[nutrient]
