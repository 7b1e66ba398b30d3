"""The ways on which things came to a node, told backward from the meetings for what is asked."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from menus.kitchen.events import How
from menus.kitchen.flow import Flow, Meeting


@dataclass(frozen=True, slots=True)
class Hop:
    """One stretch of a way, by nodes."""

    at: datetime  # when it was left there
    surface: int
    dish: int | None  # who left it; None: it came straight from the surface of the hop before
    taken: datetime  # when the next one took it up
    how: How


Way = tuple[Hop, ...]


def ways(flow: Flow, own: Sequence[int], node: int, bits: int, how: How, before: int) -> Iterator[tuple[int, Way]]:
    """Yield the ways by which the bits came to the node in the meetings below number `before`, from where they began.

    All `bits` stand for things that came by `how`. What came together is followed together: each way stands with the
    bits, as come by TOUCH, of the things that it brought. `own` are the bits of the dishes themselves; the nodes beyond
    them are surfaces. What is a dish's own has no hop.
    """
    todo: list[tuple[int, int, How, int, datetime | None, Way]] = [(node, bits, how, before, None, ())]
    while todo:
        node, bits, how, before, taken, way = todo.pop()
        if how is How.TOUCH and node < len(own) and bits & own[node]:
            yield bits & own[node], way
            bits &= ~own[node]
        for number, part in flow.sources(node, bits, before):
            meeting = flow.meetings[number]
            for path, share, held_as in _back(meeting, node, part, how):
                hops = _along(meeting, path, taken or meeting.at, len(own))
                todo.append((path[0], share, held_as, number, meeting.at, (*hops, *way)))


def _along(meeting: Meeting, path: list[int], taken: datetime, dishes: int) -> list[Hop]:
    if meeting.how is not How.TOUCH:
        return [Hop(meeting.at, meeting.place, path[0], meeting.at, meeting.how)]
    return [
        Hop(meeting.at, node, giver if giver < dishes else None, taken if node == path[-1] else meeting.at, How.TOUCH)
        for giver, node in pairwise(path)
        if node >= dishes
    ]


def _back(meeting: Meeting, node: int, bits: int, how: How) -> Iterator[tuple[list[int], int, How]]:
    """Yield the nodes from each nearest one that held some of the bits before to this one, and as what it held them."""
    if meeting.how is How.TOUCH:
        yield from ((path, share, how) for path, share in _paths(meeting, node, bits))
        return
    # What came by this very way was held as surely or more surely by whoever gave it; all else was held as it is.
    for held_as in How if how is meeting.how else (how,):
        back = how - held_as
        for giver in sorted(meeting.before):
            share = (bits >> back) & meeting.before[giver] if giver != node and back >= 0 else 0
            if share:
                bits &= ~(share << back)
                yield [giver, node], share, held_as


def _paths(meeting: Meeting, node: int, bits: int) -> Iterator[tuple[list[int], int]]:
    came_from: dict[int, int | None] = {node: None}
    for reached in (queue := [node]):
        if share := bits & meeting.before[reached]:
            yield _unwound(came_from, reached), share
            bits ^= share
        if not bits:
            return
        for each in sorted(meeting.touching[reached]):
            if each not in came_from:
                came_from[each] = reached
                queue.append(each)


def _unwound(came_from: dict[int, int | None], start: int) -> list[int]:
    path = [start]
    while (following := came_from[path[-1]]) is not None:
        path.append(following)
    return path
