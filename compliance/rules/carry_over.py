"""R04: carried over in the kitchen."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R04",
    title="Carried over in the kitchen",
    kinds=frozenset({Kind.CARRY_OVER}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.NONE_FOUND,
    reason="“{term}” left it {way}, and no cleaning that removes it comes between.",
    why=(
        "Residue moves by equipment, oil, hands and tables; heat does not end it; a cleaning that is not "
        "recorded did not happen."
    ),
    source="Codex CXC 80-2020 (introduction read); Perry 2004 on cleaning",
    verified="read",
    fires=Case(Evidence("milk", Kind.CARRY_OVER), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.MAY_CONTAIN), Strictness.TRACE),
)
