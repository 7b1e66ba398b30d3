"""Where and when every touch takes place: the variables and rows of places, order, cleanings added, and times."""

from __future__ import annotations

from itertools import combinations

from menus.planning.linear import ONE, ZERO, Linear, total
from menus.planning.program import Program
from menus.planning.touches import Touch, Touches

Shared = tuple[int, int, int]
"""Two touches, by number, on one surface: the first comes before the second."""


class Sequence:
    """The order of work as variables of a program.

    `before[u, v, s]` is 1 when touch u is over on surface s before touch v begins there, `together[u, v, s]` when both
    begin there at the same minute. `added[u, s]` counts the cleanings added on s before u, `kept[u, s]` those that
    stand in today's order and remove allergens; between two touches the surface was made clean if their sum grew.
    """

    def __init__(self, touches: Touches, program: Program) -> None:
        self.touches, self.program = touches, program
        self.work = touches.work
        self.span = max([self.work.horizon, *(touch.at + touch.busy for touch in touches.all if touch.at is not None)])
        self.begin = [self._begin(number) for number in range(len(self.work.steps))]
        self.on = [self._place(touch) for touch in touches.all]
        self.before: dict[Shared, Linear] = {}
        self.together: dict[Shared, Linear] = {}
        self.added: dict[tuple[int, int], Linear] = {}
        self.additions: dict[int, Linear] = {}
        self._one_thing_once()
        self._precedence()
        for first, second in combinations(range(len(touches.all)), 2):
            for surface in self._common(first, second):
                self._share(first, second, surface)
        self.kept = {(u, s): self._kept(u, s) for u, place in enumerate(self.on) for s in place}
        self._additions()
        self._times()

    def starts(self, number: int) -> Linear:
        """Return the minute at which a touch begins."""
        touch = self.touches.all[number]
        if touch.step is not None:
            return self.begin[touch.step]
        assert touch.at is not None
        return ONE * touch.at

    def cleanings(self, number: int, surface: int) -> Linear:
        """Return how many cleanings that remove allergens came before a touch on that surface."""
        return self.added.get((number, surface), ZERO) + self.kept[number, surface]

    def count(self, surface: int) -> int:
        """Return how many touches may fall on the surface."""
        return sum(surface in place for place in self.on)

    def _begin(self, number: int) -> Linear:
        step = self.work.steps[number]
        if step.fixed:
            return ONE * self.work.minute(step.at)
        return self.program.number(self.touches.earliest[number], self.touches.latest[number])

    def _place(self, touch: Touch) -> dict[int, Linear]:
        if len(touch.surfaces) == 1:
            return {touch.surfaces[0]: ONE}
        place = {surface: self.program.choice() for surface in touch.surfaces}
        self.program.require(total(place.values()), 1, 1)
        return place

    def _one_thing_once(self) -> None:
        """A step that needs two boards needs two different ones."""
        for first, second in combinations(range(len(self.on)), 2):
            step = self.touches.all[first].step
            if step is not None and step == self.touches.all[second].step:
                for surface in self.on[first].keys() & self.on[second].keys():
                    self.program.require(self.on[first][surface] + self.on[second][surface], upper=1)

    def _common(self, first: int, second: int) -> list[int]:
        one, other = self.touches.all[first], self.touches.all[second]
        if one.step is not None and one.step == other.step:
            return []
        return [surface for surface in one.surfaces if surface in other.surfaces]

    def _precedence(self) -> None:
        for second, ahead in enumerate(self.touches.ahead):
            for first in ahead:
                one, other = self.work.steps[first], self.work.steps[second]
                if not (one.fixed and other.fixed):
                    self.program.require(self.begin[second] - self.begin[first] - one.minutes)

    def _share(self, u: int, v: int, s: int) -> None:
        """Put two touches of one surface in order, or together where the surface takes both."""
        one, other = self.touches.all[u], self.touches.all[v]
        both = self._both(u, v, s)
        together = self.program.choice() if self._may_join(one, other, s) else ZERO
        if one.at is not None and one.at == other.at:
            together = both
        forth, back = self.touches.can_precede(one, other), self.touches.can_precede(other, one)
        rest = both - together
        if forth and back:
            order = self.program.choice()
            self.before[u, v, s] = order
            self.before[v, u, s] = rest - order
            self.program.require(rest - order)
        elif forth:
            self.before[u, v, s] = rest
        elif back:
            self.before[v, u, s] = rest
        else:
            self.program.require(rest, upper=0)
        if together.terms or together.constant:
            self.together[u, v, s] = self.together[v, u, s] = together
            self.program.require(rest)
            self._join(u, v, s)

    def _both(self, u: int, v: int, s: int) -> Linear:
        one, other = self.on[u][s], self.on[v][s]
        if not one.terms:
            return other
        if not other.terms:
            return one
        both = self.program.number(0, 1)
        self.program.require(both - one - other + 1)
        self.program.require(one - both)
        self.program.require(other - both)
        return both

    def _may_join(self, one: Touch, other: Touch, surface: int) -> bool:
        if self.work.stations[surface].capacity < 2 or None in (one.dish, other.dish) or one.dish == other.dish:
            return False
        if one.cleaned or other.cleaned:
            return False
        if self.touches.chained(one, other) or self.touches.chained(other, one):
            return False
        (first, last), (begins, ends) = self.touches.window(one), self.touches.window(other)
        return max(first, begins) <= min(last, ends)

    def _join(self, u: int, v: int, s: int) -> None:
        apart = self.span * (1 - self.together[u, v, s])
        self.program.require(self.starts(u) - self.starts(v) + apart)
        self.program.require(self.starts(v) - self.starts(u) + apart)

    def _kept(self, u: int, s: int) -> Linear:
        return total(
            self.before[w, u, s]
            for w, touch in enumerate(self.touches.all)
            if (w, u, s) in self.before and self.touches.works(touch, s)
        )

    def _additions(self) -> None:
        """Count the cleanings added on every surface that can be cleaned; later touches have seen no fewer."""
        for s, station in self.work.stations.items():
            on = [u for u, place in enumerate(self.on) if s in place]
            if station.cleaning is None or not on:
                continue
            most = min(len(on), self.span // station.cleaning.minutes)
            self.additions[s] = self.program.number(0, most)
            for u in on:
                self.added[u, s] = self.program.whole(0, most)
                self.program.require(most * self.on[u][s] - self.added[u, s])
                self.program.require(self.additions[s] - self.added[u, s])
            for u in on:
                for v in on:
                    if (u, v, s) in self.before:
                        apart = most * (1 - self.before[u, v, s])
                        self.program.require(self.added[v, s] - self.added[u, s] + apart)
                    if (u, v, s) in self.together:
                        apart = most * (1 - self.together[u, v, s])
                        self.program.require(self.added[v, s] - self.added[u, s] + apart)

    def _times(self) -> None:
        """One after the other, with the time that the cleanings between them take."""
        for (u, v, s), order in self.before.items():
            one, other = self.touches.all[u], self.touches.all[v]
            cleaning = self._minutes_added(v, s) - self._minutes_added(u, s)
            if one.at is not None and other.at is not None:
                # Both stand where they stand, even where the one is not over when the other begins.
                self.program.require(max(0, other.at - one.at - one.busy) - cleaning + self.span * (1 - order))
                continue
            latest, earliest = self.touches.window(one)[1], self.touches.window(other)[0]
            slack = max(0, latest + one.busy - earliest + self._most_minutes(s)) * (1 - order)
            self.program.require(self.starts(v) - self.starts(u) - one.busy - cleaning + slack)
        for u, place in enumerate(self.on):
            for s, on in place.items():
                if (u, s) in self.added:
                    self.program.require(self.starts(u) - self._minutes_added(u, s) + self.span * (1 - on))
        self._capacity()

    def _minutes_added(self, u: int, s: int) -> Linear:
        cleaning = self.work.stations[s].cleaning
        return self.added.get((u, s), ZERO) * (cleaning.minutes if cleaning else 0)

    def _most_minutes(self, s: int) -> int:
        cleaning = self.work.stations[s].cleaning
        return min(self.count(s) * cleaning.minutes, self.span) if cleaning else 0

    def _capacity(self) -> None:
        """No more dishes at once than the surface takes; who is together with two is together with both."""
        for s, station in self.work.stations.items():
            joined = sorted({u for u, _, at in self.together if at == s})
            for u in joined:
                others = total(self.together[u, v, s] for v in joined if (u, v, s) in self.together)
                self.program.require(others, upper=max(station.capacity - 1, others.constant))
                for v, w in combinations(joined, 2):
                    if u not in (v, w) and (u, v, s) in self.together and (u, w, s) in self.together:
                        both = self.together.get((v, w, s), ZERO)
                        self.program.require(both + 1 - self.together[u, v, s] - self.together[u, w, s])
