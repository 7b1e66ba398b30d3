"""Numbers as the arithmetic shows them."""

from __future__ import annotations

from fractions import Fraction


def shown(value: Fraction) -> str:
    """Return a number with at most three places: for reading; the working itself is exact."""
    return f"{float(round(value, 3)):.3f}".rstrip("0").rstrip(".")


def floored(value: Fraction, step: Fraction) -> Fraction:
    """Return the greatest whole number of steps that is not above the value."""
    return value // step * step
