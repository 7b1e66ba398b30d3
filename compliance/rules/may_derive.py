"""R06: may be made from it."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R06",
    title="May be made from it",
    kinds=frozenset({Kind.MAY_DERIVE}),
    trace=Outcome.REFER,
    ingredient=Outcome.NONE_FOUND,
    reason=(
        "“{words}” in {place} may hold it or be made from it, and no law makes the label say so; licensed staff decide "
        "for each child."
    ),
    why=(
        "Where the law does not force a source to be named, silence on the label tells nothing. A few words stand on "
        "a great many labels, so the question is asked once for a child and a word, whatever food it is in."
    ),
    source="21 CFR 101.22 (flavours and spices under a common name); FSIS voluntary allergen statements",
    verified="read",
    fires=Case(Evidence("milk", Kind.MAY_DERIVE), Strictness.TRACE),
    quiet=Case(Evidence("milk", Kind.DERIVED), Strictness.TRACE),
)
