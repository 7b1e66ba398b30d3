"""Judge one food for one restriction type."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from compliance.rules.meeting import counting, meeting
from compliance.rules.register import RULES
from compliance.rules.rule import Rule
from compliance.rules.values import Finding, RestrictionType, Verdict
from menus.labels.concerning import concerning
from menus.labels.evidence import Evidence
from menus.substances.catalogue import Catalogue
from menus.substances.combinations import combinations


def judge(kind: RestrictionType, food: Iterable[Evidence], rules: Sequence[Rule] = RULES) -> Verdict:
    """Return the verdict on a food's evidence for a restriction type.

    Every finding is kept, the gravest first; one that an allowance covers is kept but no longer counts. The outcome
    depends on neither the order of the evidence nor the order of the rules. Of a combination the milder side counts.
    """
    pieces = tuple(food)
    findings = _findings(kind, concerning(kind.substance, pieces, Catalogue.load()), rules)
    if combination := combinations().get(kind.substance):
        plain = replace(kind, allowed=())
        findings += meeting(
            combination,
            pieces,
            judged=lambda found: _findings(kind, found, rules),
            plainly=lambda found: _findings(plain, found, rules),
        )
    findings.sort(key=_weight)
    return Verdict(outcome=counting(findings), findings=tuple(findings))


def _findings(kind: RestrictionType, pieces: Iterable[Evidence], rules: Sequence[Rule]) -> list[Finding]:
    found = tuple(pieces)
    concerned = {each: [rule for rule in rules if each in rule.kinds] for each in {piece.kind for piece in found}}
    return [
        _allowed(finding, kind)
        for piece in found
        for rule in concerned[piece.kind]
        if (finding := rule.finding(piece, kind.strictness))
    ]


def _allowed(finding: Finding, kind: RestrictionType) -> Finding:
    covered = any(scope.covers(finding.evidence) for scope in kind.allowed)
    return replace(finding, allowed=True) if covered else finding


def _weight(finding: Finding) -> tuple[bool, int, str, str]:
    return (finding.allowed, -finding.outcome, finding.rule, finding.reason)
