"""R12: label out of date."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import ANY, Evidence, Kind

RULE = Rule(
    id="R12",
    title="Label out of date",
    kinds=frozenset({Kind.STALE_LABEL}),
    trace=Outcome.REFER,
    ingredient=Outcome.REFER,
    reason="The label of {place} was last read too long ago.",
    why="Makers change what is in a food without notice; read the package again.",
    source="Food allergy management practice in education settings; the limit of 365 days is a setting",
    verified="read",
    fires=Case(Evidence(ANY, Kind.STALE_LABEL), Strictness.TRACE),
    quiet=Case(Evidence(ANY, Kind.NO_LABEL), Strictness.TRACE),
)
