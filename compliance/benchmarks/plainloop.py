"""How somebody would check without sharing anything: every child against every dish that is served to it.

The dishes as prepared and the rules are the service's. What is plain is that every pair is judged by itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.bulk.spans import Span
from compliance.checks.bulk.table import Table
from compliance.rules.judge import judge
from compliance.rules.values import Outcome


@dataclass(slots=True)
class Looped:
    """How many pairs of a child's restriction and a serving were judged, and how many of them are exceptions."""

    pairs: int = 0
    exceptions: int = 0


def loop(table: Table, site: int, children: set[int], watch: Stopwatch) -> Looped:
    """Judge every serving of a site for each of these children, one pair after the other; timed as `loop`."""
    mine = [span for span in table.spans[site] if span.child in children]
    with watch.time("loop"):
        return _judged(table, site, mine)


def _judged(table: Table, site: int, spans: Sequence[Span]) -> Looped:
    looped = Looped()
    for span in spans:
        for _, day, row in table.served[site]:
            if span.first <= day <= span.last:
                looped.pairs += 1
                looped.exceptions += judge(span.type, table.dishes[row]).outcome >= Outcome.REFER
    return looped


def pairs(table: Table, site: int) -> int:
    """Return how many pairs there are at a site in all."""
    days = [day for _, day, _ in table.served[site]]
    return sum(span.first <= day <= span.last for span in table.spans[site] for day in days)


def first_children(table: Table, site: int, most: int) -> set[int]:
    """Return the first children of a site with a restriction: a sample that asks for about so many judgements."""
    each = max(1, len(table.served[site]))
    chosen: set[int] = set()
    asked = 0
    for span in sorted(table.spans[site], key=lambda span: span.restriction):
        if asked >= most and span.child not in chosen:
            break
        chosen.add(span.child)
        asked += each
    return chosen
