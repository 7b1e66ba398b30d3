"""Carry allergens from dish to dish over what they share, in the order in which things happen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from menus.kitchen.airborne import is_airborne
from menus.kitchen.events import Event, Reserve
from menus.kitchen.recipes import Pieces
from menus.kitchen.residue import follow
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.things import arrived, leaves, question, steps
from menus.kitchen.trace import Trace
from menus.labels.evidence import Evidence


def carry_over(
    events: Iterable[Event],
    surfaces: Mapping[int, SurfaceFacts],
    dishes: Mapping[int, Pieces],
    names: Mapping[int, str] | None = None,
) -> dict[int, Pieces]:
    """Return every dish's evidence with what the order of work carries over to it.

    A residue ends only with a cleaning that removes allergens from that material and stands *between* two uses: a
    cleaning at the very minute of a touch counts for nothing, and all that hangs together by touches of one minute
    meets. Nothing that happens later changes an earlier dish. What comes to a dish from several others and is one
    question is told once, by the surest and then the first way; `names` are the dishes' names on that way.
    Raises UnknownMethod, UnknownSurface and UnknownDish for what an event names and nobody described.
    """
    events = list(events)
    dishes = with_portions(events, dishes)
    trace = traced(events, surfaces, dishes)
    return {
        dish: tuple(dict.fromkeys([*pieces, *_arrivals(trace, dish, surfaces, names or {})]))
        for dish, pieces in dishes.items()
    }


def traced(
    events: Iterable[Event], surfaces: Mapping[int, SurfaceFacts], dishes: Mapping[int, Pieces]
) -> Trace[Evidence]:
    """Return where the evidence of each dish went; a reserved portion is a dish of its own."""
    left = {dish: leaves(pieces) for dish, pieces in dishes.items()}
    return follow(events, surfaces, left, lambda piece: is_airborne(piece.substance))


def with_portions(events: Iterable[Event], dishes: Mapping[int, Pieces]) -> dict[int, Pieces]:
    """Return the dishes with their reserved portions, which are the same food."""
    known = dict(dishes)
    for event in sorted((event for event in events if isinstance(event, Reserve)), key=lambda event: event.at):
        known[event.portion] = tuple(dict.fromkeys([*known.get(event.portion, ()), *known.get(event.dish, ())]))
    return known


def _arrivals(
    trace: Trace[Evidence], dish: int, surfaces: Mapping[int, SurfaceFacts], names: Mapping[int, str]
) -> Iterator[Evidence]:
    told: set[tuple[object, ...]] = set()
    for chain, how, pieces in trace.ways(dish):
        on_the_way = tuple(steps(chain, surfaces, names))
        for piece in pieces:
            if (asked := question(piece)) not in told:
                told.add(asked)
                yield arrived(piece, how, on_the_way)
