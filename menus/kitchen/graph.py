"""The graph of recipes that hold recipes."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import TypeVar

Node = TypeVar("Node", bound=Hashable)


class RecipeCycle(Exception):
    """A recipe holds itself. `path` names the recipes on the way round, the first one again at the end."""

    def __init__(self, path: Sequence[object]) -> None:
        super().__init__("A recipe holds itself: " + " → ".join(str(step) for step in path) + ".")
        self.path = list(path)


def check_acyclic(graph: Mapping[Node, Sequence[Node]], starts: Iterable[Node]) -> None:
    """Raise RecipeCycle when, from one of `starts`, some recipe can be reached again from itself. One walk for all."""
    finished: set[Node] = set()
    for start in starts:
        if start not in finished:
            _walk(graph, start, finished)


def _walk(graph: Mapping[Node, Sequence[Node]], start: Node, finished: set[Node]) -> None:
    path: list[Node] = [start]
    todo = [iter(graph.get(start, ()))]
    # A stack of our own: recipes may nest deeper than Python's.
    while todo:
        node = next(todo[-1], None)
        if node is None:
            todo.pop()
            finished.add(path.pop())
        elif node in path:
            raise RecipeCycle([*path[path.index(node) :], node])
        elif node not in finished:
            path.append(node)
            todo.append(iter(graph.get(node, ())))
