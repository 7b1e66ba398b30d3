"""R13: made in a home kitchen."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import ANY, Evidence, Kind

RULE = Rule(
    id="R13",
    title="Made in a home kitchen",
    kinds=frozenset({Kind.HOME_MADE}),
    trace=Outcome.REFER,
    ingredient=Outcome.REFER,
    reason="{place} was made in a home kitchen, where nobody checks what touches what.",
    why="A list of ingredients from a home says nothing of cross-contact.",
    source="common practice, no source",
    verified="memory",
    fires=Case(Evidence(ANY, Kind.HOME_MADE), Strictness.TRACE),
    quiet=Case(Evidence(ANY, Kind.NO_LABEL), Strictness.TRACE),
)
