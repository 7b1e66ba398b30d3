"""A reading laid open: the list as it nests, the rows behind each word, what all of it says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from menus.labels.claims import Claim
from menus.labels.context import Context
from menus.labels.cues import Voice
from menus.labels.evidence import Evidence, Level, Part, Span
from menus.labels.lexicon import Entry, Lexicon, Term
from menus.labels.listing import Item
from menus.labels.near_miss import near_misses
from menus.labels.page import Page
from menus.labels.parsing import Parsed
from menus.labels.phrases import Phrase, ReadItem
from menus.labels.reader import Reading


@dataclass(frozen=True, slots=True)
class Known:
    """Words that the lexicon knows, with the rows behind them."""

    span: Span
    term: Term
    rows: tuple[Entry, ...]  # those that hold at the place and on the day of the label
    elsewhere: tuple[Entry, ...]  # those that hold at other places or on other days
    denied: bool  # "no milk", "milk-free"


@dataclass(frozen=True, slots=True)
class Strange:
    """A word that nobody knows, and the nearest that the lexicon does, or none. A slip is taken for all of them."""

    span: Span
    near: tuple[Term, ...]
    is_slip: bool


@dataclass(frozen=True, slots=True)
class Line:
    """One item of the list. Lines follow one another as the label does; what brackets hold is one deeper."""

    depth: int  # from 1
    spans: tuple[Span, ...]  # its words before, between and after its brackets
    voice: Voice
    is_opened: bool  # its brackets or what follows its colon tell what it is made of
    known: tuple[Known, ...]
    strange: tuple[Strange, ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """One part of the label."""

    part: Part
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Said:
    """What the label as a whole says of one substance."""

    substance: str
    level: Level
    pieces: tuple[Evidence, ...]


@dataclass(frozen=True, slots=True)
class Explained:
    """All of it. Places are characters of the stored text."""

    parts: tuple[Listed, ...]
    said: tuple[Said, ...]  # the gravest first
    claims: tuple[Claim, ...]


def explained(reading: Reading) -> Explained:
    """Lay the reading open. Brackets nest as deep as a label is long, so nothing here recurses."""
    return Explained(
        parts=tuple(Listed(parsed.page.part, tuple(_lines(parsed, reading.context))) for parsed in reading.parsed()),
        said=tuple(_said(reading)),
        claims=reading.claims,
    )


def _lines(parsed: Parsed, context: Context) -> Iterator[Line]:
    depths: dict[Item, int] = {}
    for read in parsed.items:  # an item stands before what its brackets hold
        under = read.item.parent or read.item.heading
        depths[read.item] = depth = depths.get(under, 0) + 1 if under is not None else 1
        yield _line(depth, read, parsed.page, context)


def _line(depth: int, read: ReadItem, page: Page, context: Context) -> Line:
    return Line(
        depth=depth,
        spans=tuple(page.span(words[0].start, words[-1].end) for words in read.item.stretches if words),
        voice=read.voice,
        is_opened=read.is_opened,
        known=tuple(_known(phrase, page, context) for phrase in read.phrases),
        strange=tuple(sorted(_strange(read, page, context.lexicon), key=lambda each: each.span.start)),
    )


def _known(phrase: Phrase, page: Page, context: Context) -> Known:
    rows = phrase.term.entries
    return Known(
        span=page.span(phrase.start, phrase.end),
        term=phrase.term,
        rows=tuple(row for row in rows if row.holds(context.jurisdiction, context.on)),
        elsewhere=tuple(row for row in rows if not row.holds(context.jurisdiction, context.on)),
        denied=phrase.denied,
    )


def _strange(read: ReadItem, page: Page, lexicon: Lexicon) -> Iterator[Strange]:
    for token in read.unknown:
        yield Strange(page.span(token.start, token.end), near_misses(lexicon, token.word), is_slip=False)
    for slip in read.slips:
        yield Strange(page.span(slip.token.start, slip.token.end), slip.terms, is_slip=True)


def _said(reading: Reading) -> list[Said]:
    by_substance: dict[str, list[Evidence]] = {}
    for piece in reading.evidence:
        by_substance.setdefault(piece.substance, []).append(piece)
    said = [
        Said(code, max(piece.level for piece in pieces), tuple(dict.fromkeys(pieces)))
        for code, pieces in by_substance.items()
    ]
    return sorted(said, key=lambda each: (-each.level, each.substance))
