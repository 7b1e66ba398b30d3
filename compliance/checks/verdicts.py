"""Judge dishes as prepared against restriction types: each pair once, whatever the number of children."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from compliance.checks.codec import evidence_key, finding_json, fingerprint, type_json
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, RestrictionType, Verdict
from menus.kitchen.recipes import Pieces


@dataclass(frozen=True, slots=True)
class DishKey:
    """What two servings may share: the recipe, and the evidence as prepared."""

    recipe: int
    evidence: str


def dish_key(recipe: int, pieces: Pieces) -> DishKey:
    """Return the key of a dish as prepared."""
    return DishKey(recipe, evidence_key(pieces))


def judge_all(
    dishes: dict[DishKey, Pieces], types: Iterable[RestrictionType]
) -> dict[tuple[DishKey, RestrictionType], Verdict]:
    """Return the verdicts that have something to say; a pair that is not there is `none found` without a note."""
    kinds = list(types)
    return {
        (key, kind): verdict
        for key, pieces in dishes.items()
        for kind in kinds
        if (verdict := judge(kind, pieces)).findings
    }


def verdict_row(verdict: Verdict) -> dict[str, Any]:
    """Return the columns of a stored verdict."""
    counting = [finding.rule for finding in verdict.findings if not finding.allowed]
    return {
        "outcome": verdict.outcome.value,
        "rules": ",".join(dict.fromkeys(counting)),
        "findings": [finding_json(finding) for finding in verdict.findings],
    }


def result_hash(
    servings: dict[int, DishKey], verdicts: dict[tuple[DishKey, RestrictionType], Verdict], periods: list[list[Any]]
) -> str:
    """Return the fingerprint of a result: what is served, what was judged, for whom."""
    return fingerprint(
        {
            "servings": sorted([serving, key.recipe, key.evidence] for serving, key in servings.items()),
            "verdicts": sorted(
                [key.recipe, key.evidence, fingerprint(type_json(kind)), fingerprint(verdict_row(verdict))]
                for (key, kind), verdict in verdicts.items()
            ),
            "periods": sorted(periods),
        }
    )


def count_outcomes(verdicts: Iterable[Verdict]) -> dict[str, int]:
    """Return how many verdicts stand at each outcome."""
    counts = dict.fromkeys((outcome.code for outcome in Outcome), 0)
    for verdict in verdicts:
        counts[verdict.outcome.code] += 1
    return counts
