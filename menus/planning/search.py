"""The search: fewest children, then fewest cleanings added, then fewest steps moved, then the earliest end."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from time import monotonic

from menus.planning.carrying import Carrying
from menus.planning.linear import Linear, total
from menus.planning.program import INFINITY, Program, Solution
from menus.planning.sequence import Sequence
from menus.planning.streams import Beginning, Streams
from menus.planning.touches import Touches
from menus.planning.work import Work

AIMS = ("children", "cleanings", "steps moved", "minutes until the end")
SHARES = (0.6, 0.6, 0.6, 0.6)
"""How much of the time that is left each aim may take; the last of it settles the times."""


@dataclass(frozen=True, slots=True)
class Level:
    """What was reached for one aim, and the least that anybody could reach once the aims before it are held."""

    aim: str
    value: int
    bound: int
    proven: bool


@dataclass(frozen=True, slots=True)
class Found:
    """A solution of the whole, with what was reached for each aim."""

    solution: Solution
    levels: tuple[Level, ...]


class Search:
    """One work as a program, ready to be searched; what turned out wrong can be cut off and the search done again."""

    def __init__(self, work: Work, begun: Beginning, refuted: Iterable[Mapping[int, int]] = ()) -> None:
        self.work = work
        self.program = Program()
        self.touches = Touches(work)
        self.sequence = Sequence(self.touches, self.program)
        self.carrying = Carrying(self.sequence, self.program, Streams(work, begun))
        self.moved, self.shift = self._changes()
        self.end = self._end()
        self.impossible = False
        for choices in refuted:
            self.program.exclude(choices)

    @property
    def children(self) -> Linear:
        """Children who meet carry-over, each once for each dish."""
        return total(met * stake.children for met, stake in zip(self.carrying.met, self.work.stakes, strict=True))

    def find(self, seconds: float) -> Found | None:
        """Search for one aim after the other, holding what was reached; None when nothing was found in time.

        `impossible` then tells whether there is nothing to find at all.
        """
        until = monotonic() + seconds
        aims = (self.children, total(self.sequence.additions.values()), total(self.moved), self.end)
        best = self._unmoved(seconds * 0.2)
        levels: list[Level] = []
        for name, aim, share in zip(AIMS, aims, SHARES, strict=True):
            left = max(until - monotonic(), 0.05) * share
            found = self.program.minimise(aim, left, step=1, start=best.values if best else None)
            self.impossible = found.impossible and best is None
            if found.values is not None and (best is None or found.of(aim) <= best.of(aim)):
                best = found
            if best is None:
                return None
            levels.append(_level(name, round(best.of(aim)), found))
            # Aims are whole numbers; a bound closer than half of one would invite trouble with rounding.
            self.program.require(aim, -INFINITY, levels[-1].value + 0.5)
        return Found(self._settle(best), tuple(levels)) if best else None

    def _unmoved(self, seconds: float) -> Solution | None:
        """Today's order with the cleanings that fit into it, where it ends in time: a solution to begin from."""
        for moves in self.moved:
            self.program.cap(moves, 0)
        found = self.program.minimise(self.children, seconds, step=1)
        for moves in self.moved:
            self.program.cap(moves, 1)
        return found if found.values is not None else None

    def _settle(self, best: Solution) -> Solution:
        """Keep every choice, and let what moved stay as close to today's time as it can."""
        self.program.fix_choices(best)
        settled = self.program.minimise(total(self.shift), 5, start=best.values)
        return settled if settled.values is not None else best

    def _changes(self) -> tuple[list[Linear], list[Linear]]:
        """For each step that may move: whether it does, and by how many minutes."""
        moved, shifts = [], []
        for number, step in enumerate(self.work.steps):
            if step.fixed:
                continue
            moves, shift = self.program.choice(), self.program.number(0, self.sequence.span + abs(self._today(number)))
            later = self.sequence.begin[number] - self._today(number)
            self.program.require(shift - later)
            self.program.require(shift + later)
            self.program.require(moves * (self.sequence.span + abs(self._today(number))) - shift)
            for touch, place in zip(self.touches.all, self.sequence.on, strict=True):
                if touch.step == number:
                    self.program.require(moves + place[touch.surfaces[0]] - 1)
            moved.append(moves)
            shifts.append(shift)
        return moved, shifts

    def _today(self, number: int) -> int:
        return self.work.minute(self.work.steps[number].at)

    def _end(self) -> Linear:
        end = self.program.number(0, self.work.horizon)
        for number, step in enumerate(self.work.steps):
            if not step.fixed:
                self.program.require(end - self.sequence.begin[number] - step.minutes)
        return end


def _level(aim: str, value: int, found: Solution) -> Level:
    least = math.ceil(found.bound - 1e-6) if math.isfinite(found.bound) else 0
    proven = found.proven and found.values is not None
    return Level(aim, value, value if proven else max(0, min(value, least)), proven)
