"""What every dish picks up: the rows that follow residue from touch to touch and from dish to dish."""

from __future__ import annotations

from menus.planning.linear import ONE, ZERO, Linear
from menus.planning.program import Program
from menus.planning.sequence import Sequence
from menus.planning.streams import Stream, Streams


class Carrying:
    """Residue on its way, as variables of a program.

    `arrived[i, stream]` is 1 when step i or an earlier step of its dish has picked the stream up. After a step, what
    the dish holds lies on all that it touched; there it stays until a cleaning comes between two touches. `met` tells
    of each stake whether something that it names arrives.
    """

    def __init__(self, sequence: Sequence, program: Program, streams: Streams) -> None:
        self.sequence, self.program = sequence, program
        self.touches, self.work = sequence.touches, sequence.work
        self.arrived: dict[tuple[int, Stream], Linear] = {}
        self.ended: dict[tuple[int, int, int], Linear] = {}
        for stream in streams.all:
            self._follow(stream)
        self.met = [
            self._met(stake.dish, stream) for stake, stream in zip(self.work.stakes, streams.by_stake, strict=True)
        ]

    def _follow(self, stream: Stream) -> None:
        for number, step in enumerate(self.work.steps):
            if step.dish not in stream.sources:
                self.arrived[number, stream] = self.program.number(0, 1)
        for number, previous in self.touches.previous.items():
            if (number, stream) in self.arrived:
                self.program.require(self.arrived[number, stream] - self.arrived[previous, stream])
        for v, touch in enumerate(self.touches.all):
            if touch.step is not None and (touch.step, stream) in self.arrived:
                for s in touch.surfaces:
                    self._found_there(v, s, stream)
                    for u in range(len(self.touches.all)):
                        self._picked_up(u, v, s, stream)

    def _found_there(self, v: int, s: int, stream: Stream) -> None:
        """What lay on the surface before the work began."""
        step = self.touches.all[v].step
        if s in stream.lying and step is not None:
            on = self.sequence.on[v][s]
            ended = self._end(-1, v, s, ZERO, on)
            self.program.require(self.arrived[step, stream] - on + ended)

    def _picked_up(self, u: int, v: int, s: int, stream: Stream) -> None:
        one, other = self.touches.all[u], self.touches.all[v]
        if one.step is None or other.step is None or one.dish == other.dish:
            return
        free = 1 - self._held(one.step, stream)
        arrived = self.arrived[other.step, stream]
        if order := self.sequence.before.get((u, v, s)):
            ended = self._end(u, v, s, self.sequence.cleanings(u, s), order)
            self.program.require(arrived - order + ended + free)
        if together := self.sequence.together.get((u, v, s)):
            self.program.require(arrived - together + free)

    def _held(self, step: int, stream: Stream) -> Linear:
        """Whether the dish holds the stream once the step has begun."""
        return ONE if self.work.steps[step].dish in stream.sources else self.arrived[step, stream]

    def _end(self, u: int, v: int, s: int, cleanings: Linear, order: Linear) -> Linear:
        """Whether a cleaning that removes allergens comes between the two touches. Made once for each pair."""
        since = self.sequence.cleanings(v, s) - cleanings
        if not since.terms and not since.constant:
            return ZERO
        if (u, v, s) not in self.ended:
            ended = self.program.choice()
            self.program.require(order - ended)
            self.program.require(since - ended + 2 * self.sequence.count(s) * (1 - order))
            self.ended[u, v, s] = ended
        return self.ended[u, v, s]

    def _met(self, dish: int, stream: Stream) -> Linear:
        if dish in stream.sources:
            return ONE  # it was carried over before the work began
        steps = self.touches.by_dish.get(dish)
        return self.arrived[steps[-1], stream] if steps else ZERO
