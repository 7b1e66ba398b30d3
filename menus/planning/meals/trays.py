"""The trays that a group of children can be given: what they keep of the menu, and dishes on hand beside it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from menus.planning.meals.table import Dish, Group, Meal, kept

Gaps = tuple[int, ...]
"""What is still missing of each open component, in the smallest part that occurs; nothing missing is 0 or less."""


@dataclass(frozen=True, slots=True)
class Tray:
    """What a child keeps of the menu, what is added to it, and the components that stay open all the same."""

    kept: tuple[Dish, ...]
    extra: tuple[Dish, ...]  # in the order of the meal
    open: frozenset[str]

    @property
    def dishes(self) -> tuple[Dish, ...]:
        """All that stands on it."""
        return (*self.kept, *self.extra)

    @property
    def keys(self) -> frozenset[int]:
        """Which dishes are added."""
        return frozenset(dish.key for dish in self.extra)

    @property
    def cost(self) -> int:
        """What the added portions cost."""
        return sum(dish.cost for dish in self.extra)


def trays(meal: Meal, group: Group) -> tuple[Tray, ...]:
    """Return the trays worth choosing from; the one without anything added is the first.

    Every dish that is added fills a component which is open without it: a tray with an idle dish costs more than the
    same one without, and is never chosen.
    """
    return tuple(tray for stays in kept(meal, group) for tray in _filled(stays, meal, group))


def _filled(stays: tuple[Dish, ...], meal: Meal, group: Group) -> Iterator[Tray]:
    """Yield what can be made of that choice of the menu."""
    components = tuple(group.needs)
    missing = [need - _credited(component, stays) for component, need in group.needs.items()]
    allowed = [dish for dish in meal.on_hand if dish.key in group.may]
    part = lcm(*(each.denominator for each in (*missing, *(c for dish in allowed for c in dish.credits.values()))))
    gaps = tuple(int(each * part) for each in missing)
    fills = [(dish, tuple(int(dish.credits.get(c, Fraction(0)) * part) for c in components)) for dish in allowed]

    for extra, left in _without_idle(gaps, fills):
        still = frozenset(name for name, gap in zip(components, left, strict=True) if gap > 0)
        yield Tray(stays, tuple(dish for dish, _ in extra), still)


def _without_idle(gaps: Gaps, fills: list[tuple[Dish, Gaps]]) -> Iterator[tuple[tuple[tuple[Dish, Gaps], ...], Gaps]]:
    """Yield each choice of dishes of which none is idle, with what it leaves missing.

    Choices grow dish by dish in one order, each by what credits something still open: a dish that is not idle in the
    whole credits something that is open without the others, and so it was open when the dish came in.
    """
    grown: list[tuple[tuple[tuple[Dish, Gaps], ...], Gaps, int]] = [((), gaps, 0)]
    while grown:
        extra, left, begin = grown.pop()
        if not any(_is_idle(credits, left) for _, credits in extra):
            yield extra, left
        for place in range(begin, len(fills)):
            credits = fills[place][1]
            if any(gap > 0 and credit > 0 for gap, credit in zip(left, credits, strict=True)):
                grown.append(((*extra, fills[place]), _less(left, credits), place + 1))


def _is_idle(credits: Gaps, left: Gaps) -> bool:
    """Tell whether the choice that leaves this missing would leave nothing more open without these credits."""
    return all(gap > 0 or gap + credit <= 0 for gap, credit in zip(left, credits, strict=True))


def _less(gaps: Gaps, credits: Gaps) -> Gaps:
    return tuple(gap - credit for gap, credit in zip(gaps, credits, strict=True))


def _credited(component: str, dishes: tuple[Dish, ...]) -> Fraction:
    return sum((dish.credits.get(component, Fraction(0)) for dish in dishes), Fraction(0))
