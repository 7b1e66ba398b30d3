"""How a night grows with children and with dishes: the exponent, 1 where twice as much takes twice as long."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log
from typing import Any

from compliance.benchmarks.database import own_database
from compliance.benchmarks.stage import run_stage

PARTS = ("evaluate", "judge", "verdicts", "run", "first run")
FACTORS = (1, 2, 4)

Night = Callable[[int, int], dict[str, Any]]
"""Runs a night of so many children and so many times the usual dishes a day, and returns its figures."""


def growth(children: int) -> dict[str, Any]:
    """Run nights of a quarter, a half and all of the children; and of a quarter with two and four times the dishes.

    Each in an empty database of its own. Returns seconds and exponents as they go into JSON. Raises StageFailed.
    """
    return grown(children, _night)


def grown(children: int, night: Night) -> dict[str, Any]:
    """Return the same of any way to run a night."""
    least = max(1, children // FACTORS[-1])
    by_children = [night(least * factor, 1) for factor in FACTORS]
    by_dishes = [by_children[0], *(night(least, factor) for factor in FACTORS[1:])]
    return {
        "on": by_children[0]["on"],
        "children": _series([least * factor for factor in FACTORS], by_children),
        "dishes": _series([each["counts"]["served"] for each in by_dishes], by_dishes),
    }


def exponent(sizes: Sequence[float], seconds: Sequence[float]) -> float:
    """Return the slope of the straight line nearest to the points in logarithms (least squares)."""
    across, up = [log(size) for size in sizes], [log(each) for each in seconds]
    middle, height = sum(across) / len(across), sum(up) / len(up)
    met = sum((x - middle) * (y - height) for x, y in zip(across, up, strict=True))
    return met / sum((x - middle) ** 2 for x in across)


def _series(sizes: Sequence[int], nights: Sequence[dict[str, Any]]) -> dict[str, Any]:
    seconds = {part: [night["seconds"][part] for night in nights] for part in PARTS}
    return {
        "sizes": list(sizes),
        "seconds": seconds,
        "exponents": {part: round(exponent(sizes, spent), 2) for part, spent in seconds.items()},
    }


def _night(children: int, dishes: int) -> dict[str, Any]:
    with own_database() as address:
        run_stage("world", address, children=children, dishes=dishes)
        told: dict[str, Any] = run_stage("nightly", address, most_sites=None)
        return told
