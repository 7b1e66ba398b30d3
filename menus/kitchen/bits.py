"""Things as bits of a whole number: a whole load of residue is moved by one "or"."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator
from functools import reduce
from operator import or_
from typing import Generic, TypeVar

from menus.kitchen.events import How

Thing = TypeVar("Thing", bound=Hashable)
WIDTH = len(How)


class Bits(Generic[Thing]):
    """One bit for each thing and each way in which it may have come; the surest way is the lowest of the three."""

    def __init__(self, things: Iterable[Thing]) -> None:
        self.things = tuple(dict.fromkeys(things))
        self._number = {thing: number for number, thing in enumerate(self.things)}
        self.all = (1 << WIDTH * len(self.things)) - 1
        self._by = {how: self.all // ((1 << WIDTH) - 1) << how for how in How}

    def of(self, things: Iterable[Thing], how: How = How.TOUCH) -> int:
        """The bits of these things, come in this way."""
        return reduce(or_, (1 << self._number[thing] * WIDTH + how for thing in things), 0)

    def every(self, chosen: Callable[[Thing], bool]) -> int:
        """The bits of the chosen things, come in whatever way."""
        return reduce(or_, (self.of([thing], how) for thing in self.things if chosen(thing) for how in How), 0)

    def no_surer_than(self, how: How, held: int) -> int:
        """The same things, where they came surer than `how`, as come by `how`."""
        weakened = held
        for surer in range(how):
            among = weakened & self._by[How(surer)]
            weakened = (weakened ^ among) | among << (how - surer)
        return weakened

    def surest(self, held: int, own: int) -> dict[How, int]:
        """The bits of each thing that is not its own, once, by the surest way in which it came."""
        found: dict[How, int] = {}
        told = own
        for how in How:
            found[how] = held & self._by[how] & ~(told << how)
            told |= found[how] >> how
        return found

    def told(self, held: int) -> Iterator[Thing]:
        """The things whose bits these are."""
        while held:
            lowest = held & -held
            held ^= lowest
            yield self.things[(lowest.bit_length() - 1) // WIDTH]
