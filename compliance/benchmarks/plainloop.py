"""How somebody would check without sharing anything: every child against every dish that is served to it.

The dishes as prepared and the rules are the service's. What is plain is that every pair is judged by itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.children import Period
from compliance.checks.run import Result
from compliance.checks.verdicts import DishKey
from compliance.rules.judge import judge
from compliance.rules.values import Outcome
from menus.kitchen.recipes import Pieces
from menus.models import Serving


@dataclass(slots=True)
class Looped:
    """How many pairs of a child's restriction and a serving were judged, and which of them are exceptions."""

    pairs: int = 0
    exceptions: int = 0


def loop(result: Result, children: set[int], watch: Stopwatch) -> Looped:
    """Judge every serving of a site for each of these children, one pair after the other; timed as `loop`."""
    mine = [period for period in result.periods if period.restriction.child_id in children]
    with watch.time("loop"):
        return _judged(mine, result.served, result.dishes)


def _judged(periods: Sequence[Period], served: Mapping[Serving, DishKey], dishes: Mapping[DishKey, Pieces]) -> Looped:
    looped = Looped()
    for period in periods:
        for serving, key in served.items():
            if period.first <= serving.date <= period.last:
                looped.pairs += 1
                looped.exceptions += judge(period.type, dishes[key]).outcome >= Outcome.REFER
    return looped


def pairs(result: Result) -> int:
    """Return how many pairs there are at a site in all."""
    return sum(period.first <= serving.date <= period.last for period in result.periods for serving in result.served)


def first_children(result: Result, most: int) -> set[int]:
    """Return the first children of a site with a restriction: a sample that asks for about so many judgements."""
    each = max(1, len(result.served))
    chosen: set[int] = set()
    asked = 0
    for period in sorted(result.periods, key=lambda period: period.restriction.pk):
        if asked >= most and period.restriction.child_id not in chosen:
            break
        chosen.add(period.restriction.child_id)
        asked += each
    return chosen
