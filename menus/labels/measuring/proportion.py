"""A share of a count, and how far chance alone could have moved it."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

_Z = 1.959963984540054  # the normal quantile for 95 %


@dataclass(slots=True)
class Proportion:
    """So many of so many."""

    hits: int = 0
    of: int = 0

    def add(self, hits: int, of: int = 1) -> None:
        self.hits += hits
        self.of += of

    @property
    def share(self) -> float:
        """Between 0 and 1; 0 of 0 is 0."""
        return self.hits / self.of if self.of else 0.0

    def interval(self) -> tuple[float, float]:
        """The 95 % score interval of Wilson (1927), which keeps its cover where the share is near 0 or 1."""
        if not self.of:
            return 0.0, 1.0
        square = _Z * _Z
        middle = (self.share + square / (2 * self.of)) / (1 + square / self.of)
        spread = self.share * (1 - self.share) / self.of + square / (4 * self.of * self.of)
        half = _Z * sqrt(spread) / (1 + square / self.of)
        return max(0.0, middle - half), min(1.0, middle + half)

    def __str__(self) -> str:
        low, high = self.interval()
        return f"{self.share:7.2%}  ({self.hits:,} of {self.of:,}; 95 % interval {low:.2%} to {high:.2%})"


@dataclass(frozen=True, slots=True)
class Bar:
    """What a share must reach, or may not pass."""

    limit: float
    at_most: bool = False

    def verdict(self, proportion: Proportion) -> str:
        """The bar in words, and whether the share stands on the right side of it."""
        if not proportion.of:
            return f"bar {self}: nothing to measure"
        within = proportion.share <= self.limit if self.at_most else proportion.share >= self.limit
        return f"bar {self}: {'met' if within else 'NOT met'}"

    def __str__(self) -> str:
        return f"at {'most' if self.at_most else 'least'} {self.limit:.1%}"


@dataclass(frozen=True, slots=True)
class Figure:
    """One line of a report."""

    name: str
    proportion: Proportion
    bar: Bar | None = None

    def __str__(self) -> str:
        line = f"{self.name:<44}{self.proportion}"
        return f"{line}  {self.bar.verdict(self.proportion)}" if self.bar else line
