"""R01: present as an ingredient."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R01",
    title="Present as an ingredient",
    kinds=frozenset({Kind.NAMED, Kind.DERIVED}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.WITHHOLD,
    reason="The ingredients of {place} name “{words}”.",
    why=("An ingredient that is the substance, or is made from it, is in the food whatever a claim on the pack says."),
    source=(
        "US FD&C Act s.403(w) as amended by FALCPA 2004 and the FASTER Act 2021; Regulation (EU) 1169/2011 art. 21"
    ),
    verified="read",
    fires=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.MAY_CONTAIN), Strictness.TRACE),
)
