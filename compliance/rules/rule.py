"""What a rule is: one kind of evidence, what it means at each strictness, and on whose authority."""

from __future__ import annotations

from dataclasses import dataclass

from compliance.rules.values import Finding, Outcome, Strictness
from menus.kitchen.things import CAME_BY, origin, way
from menus.labels.evidence import Evidence, Kind


@dataclass(frozen=True, slots=True)
class Case:
    """An example that is run as a test: this evidence at this strictness."""

    evidence: Evidence
    strictness: Strictness


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule. Its id is for ever: old verdicts cite it."""

    id: str
    title: str
    kinds: frozenset[Kind]
    trace: Outcome  # what it means for a restriction that reaches to possible presence
    ingredient: Outcome  # what it means for a restriction on the ingredient alone
    reason: str  # a sentence; {words}, {term}, {place} and {way} are filled in from the evidence
    why: str  # why the rule is what it is, for the catalogue of rules
    source: str  # document, section, date
    verified: str  # "read" | "memory" | "design"
    fires: Case
    quiet: Case

    def finding(self, piece: Evidence, strictness: Strictness) -> Finding | None:
        """Return what this rule says of the piece, or None when the piece is not its business."""
        if piece.kind not in self.kinds:
            return None
        outcome = self.trace if strictness is Strictness.TRACE else self.ingredient
        return Finding(rule=self.id, outcome=outcome, evidence=piece, reason=self._say(piece))

    def _say(self, piece: Evidence) -> str:
        words = piece.span.words if piece.span else piece.term
        carried = way(piece)
        path = piece.path if piece.kind in CAME_BY else origin(piece)
        said = self.reason.format(
            words=words or piece.substance,
            term=piece.term or piece.substance,
            place=path[-1].name if path else "this food",
            way=carried or "in the kitchen",
        )
        return f"{said} It was carried over {carried}." if carried and piece.kind not in CAME_BY else said
