"""R18: stood open beside other food."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R18",
    title="Stood open beside other food",
    kinds=frozenset({Kind.NEARBY}),
    trace=Outcome.REFER,
    ingredient=Outcome.NONE_FOUND,
    reason="It stood open beside “{term}” at {place}: a splash, a drip or a crumb cannot be excluded.",
    why=(
        "Uncovered food on the same table or rack may be reached without a touch that anybody records; whether it was "
        "is for somebody to look at, and a cover keeps it off."
    ),
    source="FARE cross-contact poster 2020 on barriers and covers; state school handout on splatter as a source",
    verified="read",
    fires=Case(Evidence("sesame", Kind.NEARBY), Strictness.TRACE),
    quiet=Case(Evidence("sesame", Kind.CARRY_OVER), Strictness.TRACE),
)
