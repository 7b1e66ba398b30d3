"""Which dishes stay where at the moment, and which of them are covered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from menus.kitchen.events import How


class Stays:
    """Places and the dishes that stay there, all by the number of their node."""

    def __init__(self) -> None:
        self._dishes: dict[tuple[int, How], Counter[int]] = {}
        self._places: dict[tuple[int, How], Counter[int]] = {}
        self._covered: set[int] = set()

    def begin(self, place: int, dish: int, how: How) -> None:
        """Note that the dish stays there from now on; it may be said more than once."""
        self._dishes.setdefault((place, how), Counter())[dish] += 1
        self._places.setdefault((dish, how), Counter())[place] += 1

    def end(self, place: int, dish: int, how: How) -> None:
        """Take back one beginning."""
        for counter, key in ((self._dishes[place, how], dish), (self._places[dish, how], place)):
            counter[key] -= 1
            if not counter[key]:
                del counter[key]

    def cover(self, dish: int) -> None:
        """Spare the dish what stays bring."""
        self._covered.add(dish)

    def uncover(self, dishes: Iterable[int]) -> None:
        """Open the dishes again."""
        self._covered.difference_update(dishes)

    def touching(self, node: int) -> tuple[int, ...]:
        """The nodes that touch this one by staying: dishes of a place, places of a dish."""
        if not self._dishes:
            return ()
        places = () if node in self._covered else self._places.get((node, How.TOUCH), ())
        return (*self.open_at(node, How.TOUCH), *places)

    def open_at(self, place: int, how: How) -> tuple[int, ...]:
        """The dishes that stay there uncovered."""
        return tuple(dish for dish in self._dishes.get((place, how), ()) if dish not in self._covered)

    def steaming_at(self, place: int) -> tuple[int, ...]:
        """The dishes whose steam or flour is in the air there; a lid does not keep it in."""
        return tuple(self._dishes.get((place, How.AIR), ()))

    def open_places(self, dishes: Iterable[int]) -> set[int]:
        """The places where something may reach others, or these dishes, through the air or by a splash."""
        if not self._dishes:
            return set()
        return {place for dish in dishes for how in (How.AIR, How.NEAR) for place in self._places.get((dish, how), ())}
