"""A day as somebody writes it down in JSON, and what is wrong with it.

Nothing here raises for bad input. What cannot be read is said in `errors`, and counts on the cautious side until it is
mended: the page docs/reference/trace_day.md says how, case by case.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from menus.kitchen.events import Use
from menus.kitchen.surfaces import UNWASHABLE, SurfaceFacts

_LONG = 60


@dataclass(frozen=True, slots=True)
class Dish:
    """A dish by what it holds itself, as codes."""

    name: str | None  # None: nobody named it
    present: frozenset[str]
    possible: frozenset[str]


@dataclass(slots=True)
class DayFile:
    """What the file says. Surfaces and dishes have numbers, in the order in which they are first named."""

    surfaces: dict[int, SurfaceFacts] = field(default_factory=dict)
    dishes: dict[int, Dish] = field(default_factory=dict)
    errors: list[str] = field(default_factory=list)
    listed: list[int] = field(default_factory=list)  # the dishes that are answered
    shared: set[int] = field(default_factory=set)  # surfaces in which dishes stay beside one another
    served_from: list[Use] = field(default_factory=list)  # the surfaces that servings name
    _surface_numbers: dict[str, int] = field(default_factory=dict)
    _dish_numbers: dict[str, int] = field(default_factory=dict)

    def surface_number(self, name: str | None) -> int | None:
        """Return the number of a surface that was named before."""
        return None if name is None else self._surface_numbers.get(name)

    def dish_number(self, name: str | None) -> int | None:
        """Return the number of a dish that was named before."""
        return None if name is None else self._dish_numbers.get(name)

    def add_surface(self, name: str, material: str) -> int:
        """Add a surface, or say again what it is made of: two that do not agree leave one that nothing cleans."""
        number = self._surface_numbers.setdefault(name, len(self.surfaces))
        known = self.surfaces.get(number)
        agreed = material if known is None or known.material == material else UNWASHABLE
        self.surfaces[number] = SurfaceFacts(number, name, agreed)
        return number

    def add_dish(self, name: str | None, present: Iterable[str], possible: Iterable[str]) -> int:
        """Add a dish, or add to what it holds. A dish without a name is another one each time."""
        number = len(self.dishes) if name is None else self._dish_numbers.setdefault(name, len(self.dishes))
        known = self.dishes.get(number, Dish(name, frozenset(), frozenset()))
        self.dishes[number] = Dish(name, known.present.union(present), known.possible.union(possible))
        return number


def entries_of(day: DayFile, key: str, noun: str, entries: object) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield the objects of a list, each with the words that say where it stands."""
    if not isinstance(entries, list):
        day.errors.append(f"“{key}” is not a list, so nothing of it was read. Write “{key}”: [ … ].")
        return
    for number, entry in enumerate(entries, start=1):
        if isinstance(entry, dict):
            yield f"{noun} {number}", entry
        else:
            day.errors.append(f"{noun} {number} is not an object, so nothing of it was read. Write {{ … }}.")


def name_of(value: object) -> str | None:
    """Return an id as text; a number will do."""
    if isinstance(value, bool) or not isinstance(value, str | int):
        return None
    return str(value) or None


def said(value: object) -> str:
    """Return a value as it stands in the file, cut where it is long."""
    if isinstance(value, list | dict):
        return "a list" if isinstance(value, list) else "an object"
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _LONG else text[:_LONG] + "…"
