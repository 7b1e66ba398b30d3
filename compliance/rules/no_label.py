"""R11: no label."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import ANY, Evidence, Kind

RULE = Rule(
    id="R11",
    title="No label",
    kinds=frozenset({Kind.NO_LABEL, Kind.UNIDENTIFIED}),
    trace=Outcome.REFER,
    ingredient=Outcome.REFER,
    reason="There is no ingredient list on record for {place}.",
    why="Nothing known is not the same as nothing there.",
    source="CDC voluntary guidelines for managing food allergies in schools, 2013",
    verified="read",
    fires=Case(Evidence(ANY, Kind.NO_LABEL), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
