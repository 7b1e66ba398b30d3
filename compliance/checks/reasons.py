"""Findings as the reasons that people read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from compliance.rules.register import RULES
from compliance.rules.values import Finding, Outcome
from menus.labels.evidence import Part, Span, Step

TITLES = {rule.id: rule.title for rule in RULES}
OUTCOME_OF_CODE = {outcome.code: outcome for outcome in Outcome}


@dataclass(frozen=True, slots=True)
class Reason:
    """One finding as a person reads it."""

    rule: str
    title: str
    outcome: Outcome
    sentence: str
    kind: str
    substance: str
    chain: tuple[Step, ...]  # from the dish to the words
    span: Span | None  # where on the label the words stand
    term: str
    source: str
    verified: str
    allowed: bool

    @property
    def words(self) -> str:
        """The words that say it, or nothing where they stand on no label."""
        return self.span.words if self.span else ""

    @property
    def label_id(self) -> str:
        """Id of the label version that the words stand on, or nothing."""
        return self.ref_of("label")

    @property
    def product_id(self) -> str:
        """Id of the product concerned, or nothing."""
        return self.ref_of("product")

    def ref_of(self, kind: str) -> str:
        """Return the id of the innermost link of that kind, or nothing."""
        return next((link.ref for link in reversed(self.chain) if link.kind == kind), "")

    def name_of(self, kind: str) -> str:
        """Return the name of the innermost link of that kind, or nothing."""
        return next((link.name for link in reversed(self.chain) if link.kind == kind), "")


def reason_of(finding: Finding) -> Reason:
    """Return a finding as a reason."""
    piece = finding.evidence
    return Reason(
        rule=finding.rule,
        title=TITLES[finding.rule],
        outcome=finding.outcome,
        sentence=finding.reason,
        kind=piece.kind.value,
        substance=piece.substance,
        chain=piece.path,
        span=piece.span,
        term=piece.term,
        source=piece.source,
        verified=piece.verified,
        allowed=finding.allowed,
    )


def stored_reasons(findings: list[dict[str, Any]]) -> list[Reason]:
    """Return stored findings (`codec.finding_json`) as reasons, in the stored order: the gravest first."""
    return [_stored_reason(finding) for finding in findings]


def _stored_reason(finding: dict[str, Any]) -> Reason:
    span = finding["span"]
    return Reason(
        rule=finding["rule"],
        title=TITLES.get(finding["rule"], finding["rule"]),
        outcome=OUTCOME_OF_CODE[finding["outcome"]],
        sentence=finding["reason"],
        kind=finding["kind"],
        substance=finding["substance"],
        chain=tuple(Step(*step) for step in finding["chain"]),
        span=Span(Part(span["part"]), span["start"], span["end"], finding["words"]) if span else None,
        term=finding["term"],
        source=finding["source"],
        verified=finding["verified"],
        allowed=finding["allowed"],
    )
