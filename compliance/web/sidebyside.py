"""Dishes of a meal in the order in which people read them: what is chosen between stands together."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from menus.substances.names import comparable

Shown = TypeVar("Shown")


def side_by_side(dishes: Iterable[Shown], choice: Callable[[Shown], str]) -> list[Shown]:
    """Return the dishes, those of one choice together, where its first dish stands. `choice` says what a dish is of."""
    groups: dict[str | int, list[Shown]] = {}
    for place, dish in enumerate(dishes):
        groups.setdefault(comparable(choice(dish)) or place, []).append(dish)
    return [dish for group in groups.values() for dish in group]
