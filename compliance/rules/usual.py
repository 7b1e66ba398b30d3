"""R07: usual in this food."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R07",
    title="Usual in this food",
    kinds=frozenset({Kind.USUAL}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.REFER,
    reason="“{words}” in {place} usually holds it or is made from it, and the label does not say otherwise.",
    why="A food whose parts the label does not list is taken to hold what it usually holds.",
    source="common practice, no source",
    verified="memory",
    fires=Case(Evidence("milk", Kind.USUAL), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
