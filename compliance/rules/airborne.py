"""R17: carried through the air."""

from __future__ import annotations

from compliance.rules.rule import Case, Rule
from compliance.rules.values import Outcome, Strictness
from menus.labels.evidence import Evidence, Kind

RULE = Rule(
    id="R17",
    title="Carried through the air",
    kinds=frozenset({Kind.AIRBORNE}),
    trace=Outcome.WITHHOLD,
    ingredient=Outcome.NONE_FOUND,
    reason="It stood open where the steam or flour of “{term}” was in the air ({place}).",
    why=(
        "Flour and powder settle on open food, and the steam of fish, shellfish, egg, milk, chickpea and buckwheat "
        "carries protein. Smell alone is no exposure."
    ),
    source="Clinic and expert articles on airborne food allergens; menus/kitchen/data/airborne.csv has a row for each",
    verified="read",
    fires=Case(Evidence("wheat", Kind.AIRBORNE), Strictness.TRACE),
    quiet=Case(Evidence("wheat", Kind.CARRY_OVER), Strictness.TRACE),
)
