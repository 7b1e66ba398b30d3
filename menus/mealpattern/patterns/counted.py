"""What the counting of every kind of figure shares: an amount and where it was found, and how a food is asked."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from menus.mealpattern.patterns.amount import ROUNDED_OFF, Amount
from menus.mealpattern.patterns.choices import Row, for_each
from menus.mealpattern.patterns.measure import credited
from menus.mealpattern.patterns.week import Food


@dataclass(frozen=True, slots=True)
class Counted:
    """An amount found, and where: on a day, or over the week where `day` is None."""

    amount: Amount
    day: int | None = None
    food: str = ""


def parts(of: str) -> dict[str, Fraction]:
    """Return `milk:1;grains:0.5` as amounts by component."""
    return {name: Fraction(figure) for name, _, figure in (part.partition(":") for part in of.split(";"))}


def known(foods: Iterable[Food], measure: str) -> Fraction:
    """Return what the foods come to at least."""
    return credited(foods, measure).low


def with_less(foods: Iterable[Food], measure: str, name: str, figure: str) -> Amount:
    """1 for a day with some of the measure and with less than the figure of what is named, and 0 for any other."""

    def held(food: Food) -> Row:
        return known([food], measure), -known([food], name) if name else Fraction(0)

    def worth(row: Row) -> Fraction:
        some, other = row
        return Fraction(some > 0 and (not name or -other < Fraction(figure) - ROUNDED_OFF))

    return for_each(foods, held, held, worth)
