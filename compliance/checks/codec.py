"""Evidence and findings as JSON, and the fingerprints of both."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from compliance.rules.values import Finding, RestrictionType
from menus.labels.evidence import Evidence


def evidence_json(piece: Evidence) -> dict[str, Any]:
    """Return one piece of evidence as plain values."""
    span = piece.span
    return {
        "substance": piece.substance,
        "kind": piece.kind.value,
        "words": span.words if span else "",
        "span": {"part": span.part.value, "start": span.start, "end": span.end} if span else None,
        "term": piece.term,
        "source": piece.source,
        "verified": piece.verified,
        "chain": [[step.kind, step.ref, step.name] for step in piece.path],
    }


def finding_json(finding: Finding) -> dict[str, Any]:
    """Return one finding with its evidence as plain values."""
    return {
        "rule": finding.rule,
        "outcome": finding.outcome.code,
        "reason": finding.reason,
        "allowed": finding.allowed,
        **evidence_json(finding.evidence),
    }


def type_json(kind: RestrictionType) -> dict[str, Any]:
    """Return a restriction type as plain values."""
    return {
        "substance": kind.substance,
        "strictness": kind.strictness.value,
        "allowed": [[scope.kind.value, scope.about, scope.label, scope.term] for scope in sorted(kind.allowed)],
    }


def fingerprint(value: Any) -> str:
    """Return the SHA-256 of plain values in a form that does not depend on the order of keys."""
    canonical = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(canonical.encode()).hexdigest()
