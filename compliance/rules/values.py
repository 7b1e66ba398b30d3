"""The engine's values: what a restriction type is, what an outcome is, what a verdict holds."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum

from menus.labels.evidence import BY_WORD, Evidence, Kind


class Outcome(IntEnum):
    """What evidence means for a restriction, the gravest last."""

    NONE_FOUND = 0
    REFER = 1
    WITHHOLD = 2

    @property
    def code(self) -> str:
        """The outcome as files and the API write it."""
        return ("none-found", "refer", "withhold")[self]

    @property
    def words(self) -> str:
        """The outcome as screens write it."""
        return ("none found", "refer", "withhold")[self]


class Strictness(StrEnum):
    """How far a restriction reaches: possible presence too, or presence as an ingredient only."""

    TRACE = "trace"
    INGREDIENT = "ingredient"


@dataclass(frozen=True, slots=True, order=True)
class Scope:
    """What an allowance covers: one kind of evidence about one substance, on one label version or (standing) on any."""

    kind: Kind
    about: str = ""  # the substance that the evidence names; empty: whatever it names
    label: str = ""  # id of the label version; empty: any label
    term: str = ""  # the lexicon's phrase; empty: any words

    def covers(self, piece: Evidence) -> bool:
        """Tell whether the piece is of this kind, substance and term and, where a label is named, came by that version.

        Without a label, what is decided by word covers nothing unless it names both substance and term: when the
        lexicon learns that a word may hold something more, no older decision reaches that far.
        """
        if piece.kind != self.kind or self.about not in ("", piece.substance) or self.term not in ("", piece.term):
            return False
        if self.label:
            return any(step.kind == "label" and step.ref == self.label for step in piece.path)
        return self.kind not in BY_WORD or bool(self.about and self.term)


@dataclass(frozen=True, slots=True)
class RestrictionType:
    """What two children may share of a restriction, so that a verdict is worked out once for both."""

    substance: str
    strictness: Strictness
    allowed: tuple[Scope, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule says of one piece of evidence. A rule does not decide; the verdict does."""

    rule: str  # id
    outcome: Outcome
    evidence: Evidence
    reason: str  # a sentence for the person who reads the result
    allowed: bool = False  # covered by an allowance: shown, but it no longer counts


@dataclass(frozen=True, slots=True)
class Verdict:
    """The outcome for one food and one restriction type, with every reason, the gravest first."""

    outcome: Outcome
    findings: tuple[Finding, ...]
