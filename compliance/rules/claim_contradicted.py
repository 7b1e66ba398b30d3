"""R16: a claim that the label contradicts."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R16",
    title="A claim that the label contradicts",
    kinds=frozenset({Kind.CLAIM_CONTRADICTED}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.WITHHOLD,
    reason=("{place} claims “{words}” to be absent, and yet its label names “{term}”. The claim does not count."),
    why=(
        "Claims are about recipes, markets and diets, not about one child: non-dairy may hold caseinate, vegan is no "
        "free-from claim. What the label names is in the food."
    ),
    source="UK FSA 2023: vegan is no free-from claim; 21 CFR 101.91 (a label that says both wheat and gluten-free)",
    verified="read",
    fires=Case(Evidence("milk", Kind.CLAIM_CONTRADICTED), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.DECLARED), Strictness.TRACE),
)
