"""An amount that may be known in part, and how it stands to a figure."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

ROUNDED_OFF = Fraction(1, 200)
"""What is lost when eighths and thirds are written down as decimals: 0.12 is an eighth, and 0.33 a third of a cup."""


class Stands(StrEnum):
    """How an amount stands to the figure that it is held against."""

    MET = "met"
    SHORT = "short"
    OVER = "over"
    UNKNOWN = "unknown"  # too much is not stated to say


@dataclass(frozen=True, slots=True)
class Amount:
    """What it comes to at least and at most. `high` is None where something is not stated and could be anything."""

    low: Fraction
    high: Fraction | None
    stated: int = 0  # of so many foods
    foods: int = 0  # among so many

    @property
    def known(self) -> bool:
        return self.low == self.high


def exactly(value: Fraction | int) -> Amount:
    """Return a known amount."""
    return Amount(Fraction(value), Fraction(value))


def rounded(value: Fraction, step: Fraction) -> Fraction:
    """Return the value to the nearest step, half up."""
    return (value / step + Fraction(1, 2)) // 1 * step


def stands(amount: Amount, *, least: Fraction | None, most: Fraction | None, strict: bool) -> Stands:
    """Return how the amount stands to a figure to reach and one not to pass. What is sure comes first.

    `strict` means that the amount must stay below `most`.
    """
    if most is not None and (amount.low > most or (strict and amount.low == most)):
        return Stands.OVER
    if least is not None and amount.high is not None and amount.high < least:
        return Stands.SHORT
    reached = least is None or amount.low >= least
    held = most is None or (amount.high is not None and (amount.high < most if strict else amount.high <= most))
    return Stands.MET if reached and held else Stands.UNKNOWN
