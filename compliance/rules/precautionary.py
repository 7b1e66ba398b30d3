"""R03: precautionary statement."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R03",
    title="Precautionary statement",
    kinds=frozenset({Kind.MAY_CONTAIN, Kind.SHARED_LINE, Kind.SHARED_FACILITY}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.NONE_FOUND,
    reason="The precautionary statement of {place} says “{words}”.",
    why=(
        "The wording of such a statement does not tell how great the risk is, so all wordings count "
        "alike until licensed staff say otherwise for this child."
    ),
    source="Pieretti 2009 and Remington 2013 on advisory labelling; the statements are voluntary in the US",
    verified="read",
    fires=Case(Evidence("milk", Kind.MAY_CONTAIN), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.DECLARED), Strictness.TRACE),
)
