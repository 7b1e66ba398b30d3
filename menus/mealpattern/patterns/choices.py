"""Dishes that a child takes one of: what the meal comes to for whoever takes least of something, and most of it.

A meal with choices is many meals. Whatever is counted is counted for all of them: a food becomes a row of numbers, a
meal their sum, and only sums that some other meal does not undercut in every number are carried on. That finds the
smallest and the largest exactly, for everything that never falls when one of the numbers grows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from itertools import product

from menus.mealpattern.patterns.amount import Amount, Spread
from menus.mealpattern.patterns.week import Food

Row = tuple[Fraction, ...]
Held = Callable[[Food], Row]
Worth = Callable[[Row], Fraction]

MOST_SUMS = 200
"""Beyond so many different meals one row stands for all: in each number the least of them, or the most."""
NOTHING = Food("", {})


def courses(foods: Iterable[Food]) -> list[list[Food]]:
    """Return the foods by what a child takes one of; a food that is in no choice is a course by itself."""
    alone, chosen = _split(foods)
    return [*([food] for food in alone), *chosen]


def for_each(foods: Iterable[Food], low: Held, high: Held, worth: Worth) -> Amount:
    """Return what every meal that can be put together from the foods comes to.

    `low` and `high` say what a food holds, where that is not known exactly; `worth` makes an amount of their sums and
    never falls when one of the numbers grows.
    """
    alone, chosen = _split(foods)
    least, large = _ends(alone, chosen, low, worth)
    small, most = (least, large) if high is low else _ends(alone, chosen, high, worth)
    return Amount(least, most, spread=None if (least, small) == (large, most) else Spread(small, large))


def _split(foods: Iterable[Food]) -> tuple[list[Food], list[list[Food]]]:
    alone: list[Food] = []
    chosen: dict[str, list[Food]] = {}
    for food in foods:
        if food.choice:
            chosen.setdefault(food.choice, []).append(food)
        else:
            alone.append(food)
    return alone, [*chosen.values()]


def _ends(
    alone: Iterable[Food], chosen: Sequence[Sequence[Food]], held: Held, worth: Worth
) -> tuple[Fraction, Fraction]:
    """What the smallest of the meals comes to, and the largest."""
    base = _total(held(food) for food in (NOTHING, *alone))
    rows = [[held(food) for food in course] for course in chosen]
    if not rows:
        return worth(base), worth(base)
    return min(map(worth, _sums(base, rows, sign=1))), max(map(worth, _sums(base, rows, sign=-1)))


def _sums(base: Row, courses: Iterable[Iterable[Row]], *, sign: int) -> list[Row]:
    """Return the sums of the meals that count: none of them is beaten in every number by another.

    `sign` is 1 where the smaller number beats, and -1 where the larger does.
    """
    sums = [_turned(base, sign)]
    for course in courses:
        rows = _unbeaten(_turned(row, sign) for row in course)
        sums = _unbeaten(_total(pair) for pair in product(sums, rows))
        if len(sums) > MOST_SUMS:
            sums = [tuple(map(min, zip(*sums, strict=True)))]
    return [_turned(row, sign) for row in sums]


def _unbeaten(rows: Iterable[Row]) -> list[Row]:
    found = set(rows)
    if len(found) == 1:
        return [*found]
    kept: list[Row] = []
    for row in sorted(found):  # whatever beats a row stands before it
        if not any(all(map(Fraction.__le__, other, row)) for other in kept):
            kept.append(row)
    return kept


def _total(rows: Iterable[Row]) -> Row:
    return tuple(sum(filter(None, column), Fraction(0)) for column in zip(*rows, strict=True))


def _turned(row: Row, sign: int) -> Row:
    return tuple(sign * number for number in row)
