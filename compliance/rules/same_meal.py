"""R20: two foods that may not meet, in two dishes of one meal."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R20",
    title="Together at one meal",
    kinds=frozenset({Kind.SAME_MEAL}),
    trace=Outcome.REFER,
    ingredient=Outcome.REFER,
    reason="{place} names {term}, at the same meal. Do not serve both at one meal: serve one, or neither.",
    why=(
        "Which of the two a child gets is for the family and licensed staff to settle, not for the counter. A dish "
        "beside it that nobody has read may hold the other, so it counts too. What comes from home is not known here."
    ),
    source="Guidance to schools on faith diets (British Columbia; UK): meat and milk are kept apart within a meal",
    verified="read",
    fires=Case(Evidence("meat-with-milk", Kind.SAME_MEAL), Strictness.TRACE),
    quiet=Case(Evidence("meat-with-milk", Kind.TOGETHER), Strictness.TRACE),
)
