"""The order in which the recipes of a file are written, and the circles that forbid any order."""

from __future__ import annotations

from collections.abc import Container, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter

Graph = Mapping[str, Sequence[str]]
"""Codes of recipes with the codes of the recipes that each holds."""

MOST_CIRCLES = 50  # listed at a time


def untangle(graph: Graph, ours: Container[str]) -> tuple[list[list[str]], list[str]]:
    """Return the circles, each from holder to held and back, and all recipes with each after those that it holds.

    A circle begins with a recipe of `ours`, the file, where it can be mended. Written in the order given, no
    half-written set of recipes ever goes in a circle, even when two recipes trade places.
    """
    left = {code: list(dict.fromkeys(held)) for code, held in graph.items()}
    circles: list[list[str]] = []
    while len(circles) < MOST_CIRCLES:
        try:
            return circles, list(TopologicalSorter(left).static_order())
        except CycleError as error:
            circle = _from_ours(error.args[1][:0:-1], ours)
            left[circle[0]].remove(circle[1])
            circles.append(circle)
    return circles, []


def _from_ours(ring: list[str], ours: Container[str]) -> list[str]:
    at = next(place for place, code in enumerate(ring) if code in ours)
    return [*ring[at:], *ring[:at], ring[at]]
