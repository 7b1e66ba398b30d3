"""What a day brought to each dish, and the ways on which it came."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Generic

from menus.kitchen.bits import Bits, Thing
from menus.kitchen.chains import Way, ways
from menus.kitchen.events import Clean, How
from menus.kitchen.flow import Flow
from menus.kitchen.surfaces import SurfaceFacts, UnknownSurface


class UnknownDish(LookupError):
    """An event names a dish that nobody described."""

    def __init__(self, dish: object) -> None:
        super().__init__(f"No dish {dish!r} is described, so nobody can say what it leaves behind. Say what it holds.")


@dataclass(frozen=True, slots=True)
class Link:
    """One link of a chain: at `at` the dish left it on the surface, and at `taken` the next one took it up there."""

    at: datetime
    surface: int
    dish: int | None  # None: it came straight from the surface of the link before
    taken: datetime
    how: How


class Trace(Generic[Thing]):
    """Where everything went."""

    def __init__(self, surfaces: Mapping[int, SurfaceFacts], dishes: Mapping[int, Iterable[Thing]]) -> None:
        own = {dish: tuple(things) for dish, things in dishes.items()}
        self.bits: Bits[Thing] = Bits(thing for things in own.values() for thing in things)
        self._ids = (*own, *surfaces)
        self._dishes = {dish: node for node, dish in enumerate(own)}
        self._surfaces = {surface: node for node, surface in enumerate(surfaces, start=len(own))}
        self.own = [self.bits.of(things) for things in own.values()]
        self.flow = Flow(self.own + [0] * len(surfaces))
        self.voided: list[Clean] = []  # cleanings that would work, at the very time of a touch
        self._served: dict[int, tuple[int, int]] = {}  # node → what it held then, and how many meetings there had been

    def arrived(self, dish: int) -> Iterator[tuple[Thing, How]]:
        """What came to the dish and is not its own, each thing once with the surest way in which it came."""
        for how, bits in self._surest(self.dish(dish)).items():
            for thing in self.bits.told(bits):
                yield thing, how

    def ways(self, dish: int) -> list[tuple[tuple[Link, ...], How, tuple[Thing, ...]]]:
        """Return the chains on which things first came, with what came on each; the surest first, then the earliest."""
        node = self.dish(dish)
        found = [
            (self._links(way), how, tuple(self.bits.told(things)))
            for how, bits in self._surest(node).items()
            for things, way in ways(self.flow, self.own, node, bits, how, self._end(node)[1])
        ]
        return sorted(found, key=lambda way: (way[1], [link.taken for link in way[0][-1:]]))

    def chain(self, dish: int, thing: Thing, how: How) -> tuple[Link, ...]:
        """Return the chain on which this one thing first came to the dish, from where it began."""
        node = self.dish(dish)
        (way,) = ways(self.flow, self.own, node, self.bits.of([thing], how), how, self._end(node)[1])
        return self._links(way[1])

    def left_on(self, surface: int) -> Iterator[tuple[Thing, tuple[Link, ...]]]:
        """Everything that came to lie on a surface, again after each cleaning, with the way; its last link is there."""
        node = self.surface(surface)
        for number, brought in self.flow.arrivals[node]:
            for how, bits in self.bits.surest(brought, 0).items():
                for things, way in ways(self.flow, self.own, node, bits, how, number + 1):
                    for thing in self.bits.told(things):
                        yield thing, self._links(way)

    def _surest(self, node: int) -> dict[How, int]:
        return self.bits.surest(self._end(node)[0], self.own[node])

    def _links(self, way: Way) -> tuple[Link, ...]:
        return tuple(
            Link(hop.at, self._ids[hop.surface], None if hop.dish is None else self._ids[hop.dish], hop.taken, hop.how)
            for hop in way
        )

    def serve(self, node: int) -> None:
        """Note what a dish holds when it is handed out. What is left of it in the kitchen may still pick up more."""
        self._served[node] = (self.flow.held[node], len(self.flow.meetings))

    def dish(self, dish: int) -> int:
        """Return the node of a dish, or raise UnknownDish."""
        try:
            return self._dishes[dish]
        except KeyError:
            raise UnknownDish(dish) from None

    def surface(self, surface: int) -> int:
        """Return the node of a surface, or raise UnknownSurface."""
        try:
            return self._surfaces[surface]
        except KeyError:
            raise UnknownSurface(surface) from None

    def _end(self, node: int) -> tuple[int, int]:
        return self._served.get(node, (self.flow.held[node], len(self.flow.meetings)))
