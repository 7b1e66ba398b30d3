"""R14: once counted into the group."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R14",
    title="Once counted into the group",
    kinds=frozenset({Kind.ONCE_MEMBER}),
    trace=Outcome.REFER,
    ingredient=Outcome.REFER,
    reason=(
        "“{words}” in {place} was counted into this group until January 2025; licensed staff say whether this child's "
        "statement means it too."
    ),
    why=(
        "A statement that names the group may have been written for the list as it stood before, and only the person "
        "who signed it knows. Asked once for a child and such a food."
    ),
    source="FDA Q&A on food allergens, edition 5, January 2025: coconut and others off the list of tree nuts",
    verified="read",
    fires=Case(Evidence("coconut", Kind.ONCE_MEMBER), Strictness.TRACE),
    quiet=Case(Evidence("coconut", Kind.NAMED), Strictness.TRACE),
)
