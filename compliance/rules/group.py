"""R05: group named without the member."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R05",
    title="Group named without the member",
    kinds=frozenset({Kind.GROUP}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.REFER,
    reason="{place} says “{words}” without saying which.",
    why="A group named without its member may be any: a doubt about an ingredient, not about traces.",
    source=(
        "FDA Q&A on food allergens, edition 5: species and nut must be named, so a bare group leaves the question open"
    ),
    verified="read",
    fires=Case(Evidence("milk", Kind.GROUP), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
