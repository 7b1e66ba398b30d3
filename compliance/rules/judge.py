"""Judge one food for one restriction type."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from compliance.rules.register import RULES
from compliance.rules.rule import Rule
from compliance.rules.values import Finding, Outcome, RestrictionType, Verdict
from menus.labels.concerning import concerning
from menus.labels.evidence import Evidence
from menus.substances.catalogue import Catalogue


def judge(kind: RestrictionType, food: Iterable[Evidence], rules: Sequence[Rule] = RULES) -> Verdict:
    """Return the verdict on a food's evidence for a restriction type.

    Every finding is kept, the gravest first; one that an allowance covers is kept but no longer counts. The outcome
    depends on neither the order of the evidence nor the order of the rules.
    """
    findings = [
        _allowed(finding, kind)
        for piece in concerning(kind.substance, food, Catalogue.load())
        for rule in rules
        if (finding := rule.finding(piece, kind.strictness))
    ]
    findings.sort(key=_weight)
    outcome = max((finding.outcome for finding in findings if not finding.allowed), default=Outcome.NONE_FOUND)
    return Verdict(outcome=outcome, findings=tuple(findings))


def _allowed(finding: Finding, kind: RestrictionType) -> Finding:
    covered = any(scope.covers(finding.evidence) for scope in kind.allowed)
    return replace(finding, allowed=True) if covered else finding


def _weight(finding: Finding) -> tuple[bool, int, str, str]:
    return (finding.allowed, -finding.outcome, finding.rule, finding.reason)
