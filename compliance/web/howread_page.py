"""A label laid open for a page: each line with what the lexicon says of its words, its sources by number."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from compliance.rules.values import Outcome
from compliance.web.labelwords import Piece, Pointer, cut
from compliance.web.reading import WORDS, said
from menus.labels.cues import Voice
from menus.labels.evidence import ANY, Evidence, Kind, Span
from menus.labels.explained import Known, Line, Said, Strange
from menus.labels.lexicon import LOCAL, Entry, Meaning, words_of
from menus.models import Word
from menus.substances.catalogue import Catalogue

DEEPEST = 8
"""How far lines are indented: a telephone is narrow."""
VOICES = {
    Voice.DECLARED: "declared",
    Voice.MAY_CONTAIN: "may contain",
    Voice.SHARED_LINE: "shared line",
    Voice.SHARED_FACILITY: "shared facility",
    Voice.FREE: "said to be absent, which changes nothing",
    Voice.ASIDE: "aside, no ingredient",
}
"""How the words are meant, where they are no plain ingredient."""
MEANS = {
    Meaning.NAMED: "names",
    Meaning.DERIVED: "made from",
    Meaning.USUAL: "usually made with",
    Meaning.GROUP: "names the group, not which of",
    Meaning.MAY_DERIVE: "may be made from, where no law makes the label say so:",
    Meaning.EXEMPT: "may be made from, and need not say so:",
    Meaning.REFINED_OIL: "highly refined oil of",
    Meaning.CLAIM: "a claim to be free of",
    Meaning.NONE: "an ordinary ingredient",
    Meaning.FILLER: "a word of the list, no ingredient",
}
SEEN = {"read": "", "memory": "from memory, not seen", LOCAL: "accepted here"}
"""What is said of a source beside it."""
MORE = {Kind.UNREAD_WORD: "not understood", Kind.CUT_OFF: "the text stops here", Kind.NO_LABEL: "no list"}


@dataclass(frozen=True, slots=True)
class Row:
    """What the lexicon says of some words, with the numbers of its sources."""

    words: str  # nothing where they are all that the line says
    means: str
    sources: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Open:
    """A word that nobody knows, what it is near or taken for a slip of, and what became of it."""

    words: str
    suggestion: str
    is_slip: bool
    proposal: Word | None


@dataclass(frozen=True, slots=True)
class Shown:
    """One line of the list."""

    depth: int
    stretches: tuple[tuple[Piece, ...], ...]
    voice: str
    is_opened: bool
    rows: tuple[Row, ...]
    unread: tuple[Open, ...]

    @property
    def is_brief(self) -> bool:
        """Whether one row says all of it, which then stands beside the words."""
        return len(self.rows) == 1 and not self.rows[0].words and not self.unread


@dataclass(frozen=True, slots=True)
class Sum:
    """What the label says of one substance, and by which words."""

    substance: str
    level: str
    reasons: tuple[Row, ...]


@dataclass(slots=True)
class Page:
    """Lays out what was read, and numbers the sources as they come up: a few dozen stand behind thousands of rows."""

    proposals: dict[str, Word]  # of the label's unread words, by key
    sources: dict[str, int] = field(default_factory=dict)

    def line(self, line: Line) -> Shown:
        """Return one line of the list."""
        whole = line.spans[0].words if len(line.spans) == 1 else ""
        return Shown(
            depth=min(line.depth, DEEPEST),
            stretches=tuple(_marked(span, line) for span in line.spans),
            voice=VOICES.get(line.voice, ""),
            is_opened=line.is_opened,
            rows=tuple(row for known in line.known for row in self._rows(known, whole)),
            unread=tuple(self._open(strange) for strange in line.strange),
        )

    def sum(self, one: Said) -> Sum:
        """Return what the label says of one substance."""
        return Sum(name(one.substance), WORDS[one.level], tuple(dict.fromkeys(map(self._reason, one.pieces))))

    def _rows(self, known: Known, whole: str) -> Iterator[Row]:
        """Rows that say the same of other substances stand together."""
        if known.term.is_filler and not known.term.is_claim:
            return  # "and", "contains 2% or less of": nobody asks for its source
        alike: dict[str, list[Entry]] = {}
        for entry in known.rows:
            alike.setdefault(MEANS[entry.meaning], []).append(entry)
        for manner, entries in alike.items():
            denied = "said to be absent: " if known.denied else ""
            told = names(code for entry in entries for code in entry.substances)
            sources = dict.fromkeys(self._number(entry.source, entry.verified) for entry in entries)
            words = "" if known.span.words == whole else known.span.words
            yield Row(words, f"{denied}{manner} {told}".strip(), tuple(sources))

    def _reason(self, piece: Evidence) -> Row:
        words = piece.span.words if piece.span else ""
        sources = (self._number(piece.source, piece.verified),) if piece.source else ()
        return Row(words, MORE.get(piece.kind) or said(piece), sources)

    def _open(self, strange: Strange) -> Open:
        words = strange.span.words
        near = ", ".join(term.phrase for term in strange.near[: None if strange.is_slip else 1])
        return Open(words, near, strange.is_slip, self.proposals.get(" ".join(words_of(words))))

    def _number(self, source: str, verified: str) -> int:
        seen = SEEN.get(verified, "")
        return self.sources.setdefault(f"{source} ({seen})" if seen else source, len(self.sources) + 1)


def _marked(span: Span, line: Line) -> tuple[Piece, ...]:
    """The words with those marked that name something (outlined) or are not understood (hatched)."""
    marks = [_mark(known.span, span, Outcome.NONE_FOUND) for known in line.known if not known.term.is_silent]
    marks += [_mark(strange.span, span, Outcome.REFER) for strange in line.strange]
    return cut(span.words, marks)


def _mark(words: Span, within: Span, outcome: Outcome) -> Pointer:
    return Pointer(words.part, words.start - within.start, words.end - within.start, outcome)


def name(code: str) -> str:
    """Return the name of the substance; what could concern any of them is said of anything."""
    return "Anything" if code == ANY else Catalogue.load().get(code).name


def names(codes: Iterable[str]) -> str:
    """Return the names, each once."""
    return ", ".join(dict.fromkeys(map(name, codes)))
