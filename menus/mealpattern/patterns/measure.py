"""What the column `measure` of a pattern counts in a food.

`fruit+vegetables` adds components, `0.25*meat_alternate.beans` weighs one, `grains|meat_alternate` takes the larger,
`grains@whole_grain_rich` counts the foods that say so. A component holds its subgroups.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from menus.mealpattern.patterns.amount import Amount
from menus.mealpattern.patterns.week import Food

ASKED = frozenset({"whole_grain_rich", "wholegrain"})
"""What must be said of each food: where nothing is said, it may be so. Every other tag is off until it is set."""


@dataclass(frozen=True, slots=True)
class Term:
    factor: Fraction
    component: str
    tag: str


def credited(foods: Iterable[Food], measure: str) -> Amount:
    """Return what the foods come to."""
    eaten = tuple(foods)
    sums = [_sum(eaten, terms) for terms in _alternatives(measure)]
    return Amount(max(low for low, _ in sums), max(high for _, high in sums))


def amount_of(food: Food, component: str) -> Fraction:
    """Return what the food credits to the component and its subgroups."""
    return sum(
        (value for name, value in food.credits.items() if name == component or name.startswith(component + ".")),
        Fraction(0),
    )


@cache
def _alternatives(measure: str) -> tuple[tuple[Term, ...], ...]:
    return tuple(tuple(_term(term) for term in sums.split("+")) for sums in measure.split("|"))


def _term(text: str) -> Term:
    factor, star, rest = text.rpartition("*")
    component, _, tag = rest.partition("@")
    return Term(Fraction(factor) if star else Fraction(1), component, tag)


def _sum(foods: Iterable[Food], terms: Iterable[Term]) -> tuple[Fraction, Fraction]:
    low = high = Fraction(0)
    for food in foods:
        for term in terms:
            amount = term.factor * amount_of(food, term.component)
            said = food.tags.get(term.tag) if term.tag else True
            low += amount if said else 0
            high += amount if said or (said is None and term.tag in ASKED) else 0
    return low, high
