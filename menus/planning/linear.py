"""Linear expressions over the variables of a program."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Linear:
    """A sum of variables, each by its number and with its factor, and a constant."""

    terms: Mapping[int, float] = field(default_factory=dict)
    constant: float = 0.0

    def __add__(self, other: Linear | float) -> Linear:
        if not isinstance(other, Linear):
            return Linear(self.terms, self.constant + other)
        terms = dict(self.terms)
        for variable, factor in other.terms.items():
            terms[variable] = terms.get(variable, 0.0) + factor
        return Linear(terms, self.constant + other.constant)

    def __mul__(self, factor: float) -> Linear:
        return Linear({variable: each * factor for variable, each in self.terms.items()}, self.constant * factor)

    def __sub__(self, other: Linear | float) -> Linear:
        return self + other * -1

    __radd__ = __add__
    __rmul__ = __mul__

    def __rsub__(self, other: float) -> Linear:
        return self * -1 + other


ZERO = Linear()
ONE = Linear(constant=1.0)


def total(parts: Iterable[Linear]) -> Linear:
    """Return the sum of the parts."""
    terms: dict[int, float] = {}
    constant = 0.0
    for part in parts:
        constant += part.constant
        for variable, factor in part.terms.items():
            terms[variable] = terms.get(variable, 0.0) + factor
    return Linear(terms, constant)
