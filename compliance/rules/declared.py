"""R02: declared."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R02",
    title="Declared",
    kinds=frozenset({Kind.DECLARED}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.WITHHOLD,
    reason="The declaration of {place} says “{words}”.",
    why="A declaration stands even when the ingredient list seems not to bear it out.",
    source="US FD&C Act s.403(w)(1); FDA Q&A on food allergens, edition 5, January 2025",
    verified="read",
    fires=Case(Evidence("milk", Kind.DECLARED), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
