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
from menus.mealpattern.patterns.choices import Row, for_each
from menus.mealpattern.patterns.week import Food

ASKED = frozenset({"whole_grain_rich", "wholegrain"})
"""What must be said of each food: where nothing is said, it may be so. Every other tag is off until it is set."""


@dataclass(frozen=True, slots=True)
class Term:
    factor: Fraction
    component: str
    tag: str


def credited(foods: Iterable[Food], measure: str) -> Amount:
    """Return what the foods come to, for every meal that can be chosen from them."""
    alternatives = _alternatives(measure)
    may_be = any(term.tag in ASKED for terms in alternatives for term in terms)

    def surely(food: Food) -> Row:
        return tuple(_held(food, terms, silent=False) for terms in alternatives)

    def perhaps(food: Food) -> Row:
        return tuple(_held(food, terms, silent=True) for terms in alternatives)

    return for_each(tuple(foods), surely, perhaps if may_be else surely, max)


def amount_of(food: Food, component: str) -> Fraction:
    """Return what the food credits to the component and its subgroups."""
    below = component + "."
    values = [value for name, value in food.credits.items() if name == component or name.startswith(below)]
    return values[0] if len(values) == 1 else sum(values, Fraction(0))


@cache
def _alternatives(measure: str) -> tuple[tuple[Term, ...], ...]:
    return tuple(tuple(_term(term) for term in sums.split("+")) for sums in measure.split("|"))


def _term(text: str) -> Term:
    factor, star, rest = text.rpartition("*")
    component, _, tag = rest.partition("@")
    return Term(Fraction(factor) if star else Fraction(1), component, tag)


def _held(food: Food, terms: Iterable[Term], *, silent: bool) -> Fraction:
    """What the food brings to a sum; `silent` takes what nobody said of it for a yes, where that must be said."""
    held = Fraction(0)
    for term in terms:
        said = food.tags.get(term.tag, silent and term.tag in ASKED) if term.tag else True
        held += term.factor * amount_of(food, term.component) if said else 0
    return held
