"""R08: highly refined oil."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R08",
    title="Highly refined oil",
    kinds=frozenset({Kind.REFINED_OIL}),
    trace=Outcome.REFER,
    ingredient=Outcome.NONE_FOUND,
    reason=(
        "“{words}” in {place} is an oil, or made from one, that the law does not count as an allergen when highly "
        "refined; licensed staff decide for each child."
    ),
    why="The exemption is a matter of law, the tolerance a matter of the child; studies disagree.",
    source="US FD&C Act s.201(qq)(2)(A)",
    verified="read",
    fires=Case(Evidence("milk", Kind.REFINED_OIL), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
