"""What the reader made of a label, for a person to look over before and after it counts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from compliance.rules.register import RULES
from compliance.rules.values import Outcome
from compliance.web.labelwords import LabelPart, Pointer, text_parts
from menus.labels.evidence import ANY, Evidence, Kind, Level, Part
from menus.labels.lexicon import words_of
from menus.labels.reader import Reading
from menus.labels.supplied.rows import cut
from menus.models import Word
from menus.substances.catalogue import Catalogue

STRICT = {kind: rule.trace for rule in RULES for kind in rule.kinds}
"""What each kind of evidence means for a child who must avoid traces too; it decides how the words are marked."""

SAID = {
    Kind.NAMED: "named in the ingredients",
    Kind.DERIVED: "made from it",
    Kind.DECLARED: "declared",
    Kind.DISAGREEMENT: "declaration and ingredients disagree",
    Kind.CLAIM_CONTRADICTED: "claimed to be absent",
    Kind.MAY_CONTAIN: "may contain",
    Kind.SHARED_LINE: "shared line",
    Kind.SHARED_FACILITY: "shared facility",
    Kind.GROUP: "group named without saying which",
    Kind.MAY_DERIVE: "may be made from it",
    Kind.ONCE_MEMBER: "counted into the group in earlier times",
    Kind.USUAL: "usually made with it",
    Kind.REFINED_OIL: "highly refined oil",
    Kind.NEAR_MISS: "spelt almost like",
    Kind.CARRY_OVER: "carried over",
    Kind.AIRBORNE: "carried through the air",
    Kind.NEARBY: "stood open beside it",
    Kind.TOGETHER: "together with what it may not meet",
    Kind.SAME_MEAL: "at one meal with what it may not meet",
}


@dataclass(frozen=True, slots=True)
class Told:
    """One substance and the words that tell of it."""

    substance: str
    words: tuple[tuple[str, str], ...]  # the words on the label, and in what way they tell


@dataclass(frozen=True, slots=True)
class Unread:
    """Words that were not understood, with what they may have been meant to be."""

    words: str
    suggestion: str
    proposal: Word | None = None
    """The newest proposal of what it is, where one was made."""


@dataclass(frozen=True, slots=True)
class Change:
    """How far one substance differs between two label versions."""

    substance: str
    before: str
    after: str
    milder: bool  # the later version says less of it


@dataclass(frozen=True, slots=True)
class ReadLabel:
    """A reading laid out for a person."""

    parts: list[LabelPart]
    present: list[Told]
    possible: list[Told]
    unread: list[Unread]
    unread_rows: list[str]  # of the supplier's codes, which no lexicon can know
    cut_off: bool
    no_list: bool
    claims: list[str]


def read_label(
    reading: Reading, texts: Mapping[str, str], proposals: Mapping[str, Word] = MappingProxyType({})
) -> ReadLabel:
    """Lay out what was read of these texts, keyed by part; `proposals` are those of its unread words, by key."""
    kinds = {piece.kind for piece in reading.evidence}
    rows = {row.span for row in cut(texts.get(Part.SUPPLIED, ""))[0]}
    words = [piece for piece in reading.evidence if piece.span not in rows]
    return ReadLabel(
        parts=text_parts(texts, _pointers(reading.evidence)),
        present=_told(reading.evidence, Level.PRESENT),
        possible=_told(reading.evidence, Level.POSSIBLE),
        unread=_unread(words, proposals),
        unread_rows=list(dict.fromkeys(span.words for span in reading.unread if span in rows)),
        cut_off=Kind.CUT_OFF in kinds,
        no_list=Kind.NO_LABEL in kinds,
        claims=list(dict.fromkeys(claim.span.words for claim in reading.claims)),
    )


def changes(before: Reading, after: Reading) -> list[Change]:
    """Return the substances of which the two readings say something different, in the order of their names."""
    old, new = _levels(before.evidence), _levels(after.evidence)
    both = sorted(old.keys() | new.keys(), key=_name)
    levels = ((code, old.get(code, Level.ABSENT), new.get(code, Level.ABSENT)) for code in both)
    return [Change(_name(code), WORDS[was], WORDS[now], now < was) for code, was, now in levels if was != now]


WORDS = {
    Level.ABSENT: "not named",
    Level.UNREAD: "not understood",
    Level.POSSIBLE: "possible",
    Level.PRESENT: "present",
}


def _pointers(evidence: Iterable[Evidence]) -> list[Pointer]:
    return [
        Pointer(piece.span.part, piece.span.start, piece.span.end, STRICT.get(piece.kind, Outcome.REFER))
        for piece in evidence
        if piece.span
    ]


def _told(evidence: Iterable[Evidence], level: Level) -> list[Told]:
    found: dict[str, dict[tuple[str, str], None]] = {}
    for piece in evidence:
        if piece.level is level and piece.substance != ANY:
            words = piece.span.words if piece.span else piece.term
            found.setdefault(piece.substance, {})[(words, said(piece))] = None
    return sorted((Told(_name(code), tuple(words)) for code, words in found.items()), key=lambda told: told.substance)


def said(piece: Evidence) -> str:
    """In what way the words tell of the substance."""
    manner = SAID.get(piece.kind, piece.kind.value)
    return f"{manner}: {piece.term}" if piece.kind is Kind.NEAR_MISS else manner


def _unread(evidence: Iterable[Evidence], proposals: Mapping[str, Word]) -> list[Unread]:
    found = {
        piece.span.words: piece.term for piece in evidence if piece.kind is Kind.UNREAD_WORD and piece.span is not None
    }
    return [Unread(words, suggestion, proposals.get(" ".join(words_of(words)))) for words, suggestion in found.items()]


def _levels(evidence: Iterable[Evidence]) -> dict[str, Level]:
    levels: dict[str, Level] = {}
    for piece in evidence:
        if piece.substance != ANY:
            levels[piece.substance] = max(piece.level, levels.get(piece.substance, Level.ABSENT))
    return levels


def _name(code: str) -> str:
    return Catalogue.load().get(code).name
