"""R19: two foods that may not meet, in one dish."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R19",
    title="Together in one dish",
    kinds=frozenset({Kind.TOGETHER}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.WITHHOLD,
    reason="{place} names {term}: the two are not eaten together.",
    why=(
        "Each of the two may be had by itself; what is kept is that they do not meet. It counts only where both would "
        "stop the food for a child who avoids that one: a doubt about one of them is a doubt about the two together."
    ),
    source="Guidance to schools on faith diets (British Columbia; UK): meat and milk are kept apart within a meal",
    verified="read",
    fires=Case(Evidence("meat-with-milk", Kind.TOGETHER), Strictness.TRACE),
    quiet=Case(Evidence("meat-with-milk", Kind.SAME_MEAL), Strictness.TRACE),
)
