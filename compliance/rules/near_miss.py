"""R09: nearly a known word."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R09",
    title="Nearly a known word",
    kinds=frozenset({Kind.NEAR_MISS}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.REFER,
    reason="“{words}” on the label of {place} looks like “{term}”.",
    why="A slip of the pen or of the scanner must not hide an allergen, nor is it proof of one.",
    source="common practice, no source",
    verified="memory",
    fires=Case(Evidence("milk", Kind.NEAR_MISS), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
