"""Follow what every dish leaves on what it touches, through a day.

One pass over the events in the order of time. A use costs a few operations on whole numbers that have a bit for each
thing there is, so the work grows with events times things, and hardly faster than the events alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from functools import reduce
from operator import or_
from typing import Generic

from menus.kitchen.bits import Thing
from menus.kitchen.cleaning import removes
from menus.kitchen.events import Clean, Contact, Cover, Event, How, Reserve, Serve, Stay, Uncover, Use
from menus.kitchen.flow import Nodes
from menus.kitchen.moments import Moment, moments
from menus.kitchen.stays import Stays
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.trace import Trace


def follow(
    events: Iterable[Event],
    surfaces: Mapping[int, SurfaceFacts],
    dishes: Mapping[int, Iterable[Thing]],
    airborne: Callable[[Thing], bool] = lambda thing: True,
) -> Trace[Thing]:
    """Return what came to each dish from the others, by the things that each holds itself.

    What happens at one time happens in an order that nobody knows, so everything that hangs together then meets, and a
    cleaning at the very time of a touch counts for nothing. Raises UnknownDish, UnknownSurface and UnknownMethod.
    """
    trace = Trace(surfaces, dishes)
    day = _Day(trace, surfaces, trace.bits.every(airborne))
    for moment in moments(events):
        day.pass_through(moment)
    return trace


class _Day(Generic[Thing]):
    """The state of a kitchen while a day passes through it."""

    def __init__(self, trace: Trace[Thing], surfaces: Mapping[int, SurfaceFacts], airborne: int) -> None:
        self.trace, self.flow, self.bits = trace, trace.flow, trace.bits
        self.surfaces, self.airborne = surfaces, airborne
        self.stays = Stays()
        self.touching: dict[int, list[int]] = {}

    def pass_through(self, moment: Moment) -> None:
        """Let one moment happen."""
        opened = self._begin(moment)
        self._clean(moment.of(Clean))
        self._spread(moment.at, {*self.touching, *opened})
        self._end(moment)

    def _begin(self, moment: Moment) -> list[int]:
        """Note what touches what, and return the dishes that begin a stay or are opened."""
        dish, surface = self.trace.dish, self.trace.surface
        self.touching = {}
        for use in moment.of(Use):
            self._touch(dish(use.dish), surface(use.surface))
        for contact in moment.of(Contact):
            self._touch(surface(contact.surface), surface(contact.other))
        for portion in moment.of(Reserve):
            self._touch(dish(portion.dish), dish(portion.portion))
        for stay in moment.of(Stay):
            self.stays.begin(surface(stay.surface), dish(stay.dish), stay.how)
        opened = [dish(uncover.dish) for uncover in moment.of(Uncover)]
        self.stays.uncover(opened)
        return [dish(stay.dish) for stay in moment.of(Stay)] + opened

    def _touch(self, one: int, other: int) -> None:
        self.touching.setdefault(one, []).append(other)
        self.touching.setdefault(other, []).append(one)

    def _clean(self, cleanings: Iterable[Clean]) -> None:
        for event in cleanings:
            node = self.trace.surface(event.surface)
            if not removes(event.method, self.surfaces[event.surface].material):
                continue
            if self._neighbours(node):
                self.trace.voided.append(event)
            else:
                self.flow.clear(node)

    def _neighbours(self, node: int) -> tuple[int, ...]:
        return (*self.touching.get(node, ()), *self.stays.touching(node))

    def _spread(self, at: datetime, stirred: set[int]) -> None:
        """Let things move until nothing moves any more: a splash may go on by a touch of the same minute."""
        changed = self.flow.touch(at, sorted(stirred), self._neighbours) | stirred
        while places := self.stays.open_places(changed):
            reached: set[int] = set()
            for place in sorted(places):
                reached |= self._expose(at, place)
            changed = reached | self.flow.touch(at, sorted(reached), self._neighbours)

    def _expose(self, at: datetime, place: int) -> set[int]:
        """Let steam and splashes at a place reach the dishes that stand open there."""
        takers = self.stays.open_at(place, How.NEAR)
        by_air = self._reach(at, How.AIR, place, self.stays.steaming_at(place), takers, self.airborne)
        return by_air | self._reach(at, How.NEAR, place, takers, takers, self.bits.all)

    def _reach(self, at: datetime, how: How, place: int, givers: Nodes, takers: Nodes, only: int) -> set[int]:
        held, weaker = self.flow.held, self.bits.no_surer_than
        given = weaker(how, reduce(or_, (held[giver] & only for giver in givers), 0))
        # What a dish has itself, however it came, comes to it no weaker from outside.
        gains = {taker: given & ~(held[taker] | weaker(how, held[taker])) for taker in takers}
        return self.flow.reach(at, how, place, givers, gains)

    def _end(self, moment: Moment) -> None:
        opened = {event.dish for event in moment.of(Uncover)}
        for event in moment.of(Cover):
            if event.dish not in opened:
                self.stays.cover(self.trace.dish(event.dish))
        for serve in moment.of(Serve):
            self.trace.serve(self.trace.dish(serve.dish))
        for stay in moment.ending:
            self.stays.end(self.trace.surface(stay.surface), self.trace.dish(stay.dish), stay.how)
