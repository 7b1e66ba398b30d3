"""R15: declaration and ingredients disagree."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R15",
    title="Declaration and ingredients disagree",
    kinds=frozenset({Kind.DISAGREEMENT}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.WITHHOLD,
    reason=(
        "About “{words}”, the declaration and the ingredients of {place} do not agree. The graver counts; have the "
        "package looked at again."
    ),
    why=(
        "Where a declaration is printed it has to be whole, and what it names has to come from somewhere. A label that "
        "fails in this may be of another product or an older recipe, so its silence on other substances is worth less."
    ),
    source="US FD&C Act s.403(w)(1)(A); FDA Q&A on food allergens, edition 5, January 2025",
    verified="read",
    fires=Case(Evidence("milk", Kind.DISAGREEMENT), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.DECLARED), Strictness.TRACE),
)
