"""R10: a word that was not understood."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import ANY, Evidence, Kind

RULE = Rule(
    id="R10",
    title="A word that was not understood",
    kinds=frozenset({Kind.UNREAD_WORD, Kind.CUT_OFF}),
    trace=Outcome.REFER,
    ingredient=Outcome.REFER,
    reason="“{words}” on the label of {place} was not understood.",
    why="What is not read may be anything.",
    source="common practice, no source",
    verified="memory",
    fires=Case(Evidence(ANY, Kind.UNREAD_WORD), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.NAMED), Strictness.TRACE),
)
