"""An amount that may be known in part, and how it stands to a figure."""

from __future__ import annotations

from collections.abc import Iterable
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
class Spread:
    """How far an amount goes by what children choose."""

    small: Fraction | None  # whoever takes least of it has no more than that
    large: Fraction  # whoever takes most of it has no less


@dataclass(frozen=True, slots=True)
class Amount:
    """What it comes to at least and at most. `high` is None where something is not stated and could be anything.

    Where children choose, the two are the ends of all that they may choose, and `spread` is there.
    """

    low: Fraction
    high: Fraction | None
    stated: int = 0  # of so many foods
    foods: int = 0  # among so many
    spread: Spread | None = None

    @property
    def known(self) -> bool:
        return self.low == self.high

    @property
    def chosen(self) -> bool:
        """Whether it goes from one known end to the other by what is chosen, and by nothing else."""
        return self.spread is not None and (self.spread.small, self.spread.large) == (self.low, self.high)

    @property
    def smallest(self) -> Fraction | None:
        """What the child who takes least of it has at most; None where that could be anything."""
        return self.spread.small if self.spread else self.high

    @property
    def largest(self) -> Fraction:
        """What the child who takes most of it has at least."""
        return self.spread.large if self.spread else self.low


def rounded(value: Fraction, step: Fraction) -> Fraction:
    """Return the value to the nearest step, half up."""
    return (value / step + Fraction(1, 2)) // 1 * step


def added(amounts: Iterable[Amount]) -> Amount:
    """Return what several amounts come to that are chosen each by itself; every one is known but for the choice."""
    low = large = Fraction(0)
    for each in amounts:
        low, large = low + each.low, large + each.largest
    return Amount(low, large, spread=Spread(low, large) if low != large else None)


def stands(
    amount: Amount,
    *,
    least: Fraction | None,
    most: Fraction | None,
    strict: bool,
    least_by_each: bool = True,
    most_by_each: bool = True,
) -> Stands:
    """Return how the amount stands to a figure to reach and one not to pass. What is sure comes first.

    `strict` means that the amount must stay below `most`. Where children choose, a figure is missed by each choice that
    misses it, or, without `by_each`, only when all of them do: then it is not known what is taken.
    """
    above = amount.largest if most_by_each else amount.low
    below = amount.smallest if least_by_each else amount.high
    if most is not None and (above > most or (strict and above == most)):
        return Stands.OVER
    if least is not None and below is not None and below < least:
        return Stands.SHORT
    reached = least is None or amount.low >= least
    held = most is None or (amount.high is not None and (amount.high < most if strict else amount.high <= most))
    return Stands.MET if reached and held else Stands.UNKNOWN
