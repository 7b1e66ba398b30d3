"""Who holds what, and where each thing first came from. Dishes and surfaces are nodes, by number."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import reduce
from operator import or_

from menus.kitchen.events import How

Nodes = Iterable[int]


@dataclass(frozen=True, slots=True)
class Meeting:
    """Nodes that met and after which some held more than before: what each held, and which touched which."""

    at: datetime
    how: How
    before: Mapping[int, int]  # node → bits
    touching: Mapping[int, tuple[int, ...]]  # for TOUCH: node → the nodes that it touched
    place: int = -1  # for AIR and NEAR: the node of the place


class Flow:
    """What every node holds, as bits.

    `arrivals` keeps for each node which bits a meeting brought it, so that a chain can be told later for whatever is
    asked and costs nothing until then.
    """

    def __init__(self, held: list[int]) -> None:
        self.held = held
        self.meetings: list[Meeting] = []
        self.arrivals: list[list[tuple[int, int]]] = [[] for _ in held]  # (number of the meeting, bits)

    def touch(self, at: datetime, seeds: Nodes, neighbours: Callable[[int], tuple[int, ...]]) -> set[int]:
        """Let everything that hangs together with the seeds share what it holds; return the nodes that hold more."""
        changed: set[int] = set()
        seen: set[int] = set()
        for seed in seeds:
            if seed in seen:
                continue
            group = _together(seed, neighbours)
            seen.update(group)
            total = reduce(or_, map(self.held.__getitem__, group))
            gains = {node: total & ~self.held[node] for node in group if self.held[node] != total}
            changed |= self._gain(gains, at, How.TOUCH, group)
        return changed

    def reach(self, at: datetime, how: How, place: int, givers: Nodes, gains: Mapping[int, int]) -> set[int]:
        """Let what is in the air or splashes at a place reach the nodes that gain by it; return those nodes."""
        gains = {node: bits for node, bits in gains.items() if bits}
        return self._gain(gains, at, how, dict.fromkeys(givers, ()), place)

    def clear(self, node: int) -> None:
        """End all that lies on a node."""
        self.held[node] = 0

    def sources(self, node: int, bits: int, before: int) -> Iterator[tuple[int, int]]:
        """Yield the numbers, below `before`, of the meetings that last brought the node these bits, and their share."""
        for number, brought in reversed(self.arrivals[node]):
            if not bits:
                return
            if number < before and bits & brought:
                yield number, bits & brought
                bits &= ~brought

    def _gain(
        self, gains: Mapping[int, int], at: datetime, how: How, group: Mapping[int, tuple[int, ...]], place: int = -1
    ) -> set[int]:
        if gains:
            self.meetings.append(Meeting(at, how, {node: self.held[node] for node in group}, group, place))
        for node, bits in gains.items():
            self.held[node] |= bits
            self.arrivals[node].append((len(self.meetings) - 1, bits))
        return set(gains)


def _together(seed: int, neighbours: Callable[[int], tuple[int, ...]]) -> dict[int, tuple[int, ...]]:
    group: dict[int, tuple[int, ...]] = {}
    todo = [seed]
    while todo:
        node = todo.pop()
        if node not in group:
            group[node] = neighbours(node)
            todo.extend(each for each in group[node] if each not in group)
    return group
