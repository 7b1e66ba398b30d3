"""Which dishes of a line hang together by what they touch, so that a change of one cannot reach any other.

More may hang together here than in truth: what lies between two cleanings of a surface counts as touching all along,
in whatever order it happened.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from menus.kitchen.cleaning import removes
from menus.kitchen.events import Clean, Contact, Cover, Event, Reserve, Serve, Stay, Uncover, Use
from menus.kitchen.surfaces import SurfaceFacts

Node = tuple[int, int]
"""A dish, by its id and -1; or a surface, by its id and how often it had been cleaned by then."""
DISH = -1


@dataclass(frozen=True, slots=True)
class Circle:
    """Dishes that hang together, by id, and the events among them in the order in which they were given."""

    dishes: frozenset[int]
    events: list[Event]


def circle(events: Iterable[Event], surfaces: Mapping[int, SurfaceFacts], dishes: Iterable[int]) -> Circle:
    """Return all that hangs together with one of these dishes; the dishes themselves are among it.

    Following these events alone brings to these dishes what following the whole line does. Raises UnknownMethod.
    """
    line = list(events)
    cleaned = _cleanings(line, surfaces)
    nodes = [list(_nodes(event, cleaned)) for event in line]
    at: dict[Node, list[int]] = {}
    for number, several in enumerate(nodes):
        for node in several:
            at.setdefault(node, []).append(number)
    reached, among = {(dish, DISH) for dish in dishes}, set[int]()
    todo = [*reached]
    while todo:
        for number in at.get(todo.pop(), ()):
            if number not in among:
                among.add(number)
                new = set(nodes[number]) - reached
                reached |= new
                todo += new
    return Circle(frozenset(pk for pk, kind in reached if kind == DISH), [line[number] for number in sorted(among)])


def _nodes(event: Event, cleaned: Mapping[int, list[datetime]]) -> Iterator[Node]:
    match event:
        case Use(at, surface, dish):
            yield from ((dish, DISH), (surface, _times(cleaned, surface, at)))
        case Contact(at, surface, other):
            yield from ((surface, _times(cleaned, surface, at)), (other, _times(cleaned, other, at)))
        case Clean(at, surface):
            yield surface, _times(cleaned, surface, at)
        case Stay(at, until, surface, dish):
            yield dish, DISH
            for times in range(_times(cleaned, surface, at), _times(cleaned, surface, until) + 1):
                yield surface, times
        case Reserve(_, dish, portion):
            yield from ((dish, DISH), (portion, DISH))
        case Cover(_, dish) | Uncover(_, dish) | Serve(_, dish):
            yield dish, DISH


def _times(cleaned: Mapping[int, list[datetime]], surface: int, at: datetime) -> int:
    """How often the surface had been cleaned before that moment."""
    return bisect_left(cleaned.get(surface, ()), at)


def _cleanings(line: Collection[Event], surfaces: Mapping[int, SurfaceFacts]) -> dict[int, list[datetime]]:
    """By surface, when it was made clean, in order: by what removes allergens from it, while nothing was on it."""
    used: dict[int, list[tuple[datetime, datetime]]] = {}
    for event in line:
        match event:
            case Use(at, surface):
                used.setdefault(surface, []).append((at, at))
            case Contact(at, surface, other):
                used.setdefault(surface, []).append((at, at))
                used.setdefault(other, []).append((at, at))
            case Stay(at, until, surface):
                used.setdefault(surface, []).append((at, until))
    found: dict[int, set[datetime]] = {}
    for event in line:
        if isinstance(event, Clean) and removes(event.method, surfaces[event.surface].material):
            met = any(begins <= event.at <= ends for begins, ends in used.get(event.surface, ()))
            found.setdefault(event.surface, set()).update(() if met else (event.at,))
    return {surface: sorted(times) for surface, times in found.items()}
