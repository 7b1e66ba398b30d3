"""A reading laid open line by line: the list as it nests, the rows behind each word, what all of it says."""

from __future__ import annotations

from collections.abc import Iterator

from menus.labels.cues import Voice
from menus.labels.evidence import Evidence, Level, Span
from menus.labels.lexicon import Entry, Term
from menus.labels.listing import Item
from menus.labels.page import Page
from menus.labels.parsing import Parsed
from menus.labels.phrases import Phrase, ReadItem
from menus.labels.reader import Reading

_DEEPEST = 12
"""How far items are indented: brackets nest as deep as a label is long."""


def explained(reading: Reading) -> Iterator[str]:
    """Every line, from the words to what they say. Places are characters of the stored text."""
    for parsed in reading.parsed():
        yield f"{parsed.page.part}, as it nests"
        yield from _items(parsed)
    yield "what it says"
    yield from _said(reading)
    for claim in reading.claims:
        denied = ", ".join(claim.substances)
        yield f"  claims to be free of {denied}: {_quoted(claim.span)}; shown, and never believed"


def _items(parsed: Parsed) -> Iterator[str]:
    depths: dict[Item, int] = {}
    for read in parsed.items:  # an item stands before what its brackets hold
        under = read.item.parent or read.item.heading
        depths[read.item] = depth = depths.get(under, 0) + 1 if under is not None else 1
        pad = "  " * min(depth, _DEEPEST)
        yield f"{pad}{_words(read, parsed.page)}{_manner(read)}"
        for phrase in read.phrases:
            yield from (f"{pad}    {line}" for line in _phrase(phrase, parsed.page))
        for token in read.unknown:
            yield f"{pad}    {_quoted(parsed.page.span(token.start, token.end))}: not known"


def _words(read: ReadItem, page: Page) -> str:
    stretches = [stretch for stretch in read.item.stretches if stretch]
    return " … ".join(_quoted(page.span(stretch[0].start, stretch[-1].end)) for stretch in stretches) or "(brackets)"


def _manner(read: ReadItem) -> str:
    notes = [] if read.voice is Voice.INGREDIENT else [f"said as {read.voice}"]
    if read.is_opened:
        notes.append("what it is made of is told")
    return f"  [{'; '.join(notes)}]" if notes else ""


def _phrase(phrase: Phrase, page: Page) -> Iterator[str]:
    where = page.span(phrase.start, phrase.end)
    denied = " (denied)" if phrase.denied else ""
    for entry in phrase.term.entries:
        yield f"{where.start}-{where.end} {phrase.term.phrase}{denied}: {_row(phrase.term, entry)}"


def _row(term: Term, entry: Entry) -> str:
    substances = ", ".join(entry.substances)
    places = f" in {', '.join(sorted(entry.jurisdictions))}" if entry.jurisdictions else ""
    if term.is_silent and not substances:
        return str(entry.meaning)
    return f"{entry.meaning} {substances}{places} ({entry.source}; {entry.verified})"


def _said(reading: Reading) -> Iterator[str]:
    by_substance: dict[str, list[Evidence]] = {}
    for piece in reading.evidence:
        by_substance.setdefault(piece.substance, []).append(piece)
    for code in sorted(by_substance, key=lambda code: (-_gravest(by_substance[code]), code)):
        pieces = by_substance[code]
        yield f"  {code}: {_gravest(pieces).name.lower()}"
        yield from dict.fromkeys(f"    {_why(piece)}" for piece in pieces)
    if not by_substance:
        yield "  nothing that the lexicon knows; what the label leaves out, nobody has read"


def _gravest(pieces: list[Evidence]) -> Level:
    return max(piece.level for piece in pieces)


def _why(piece: Evidence) -> str:
    where = f" {_quoted(piece.span)} of {piece.span.part}" if piece.span else ""
    suggested = f", {piece.term}" if piece.term else ""
    source = f" ({piece.source}; {piece.verified})" if piece.source else ""
    return f"{piece.kind}:{where}{suggested}{source}"


def _quoted(span: Span) -> str:
    return f"“{' '.join(span.words.split())}” {span.start}-{span.end}"
