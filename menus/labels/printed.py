"""A reading laid open, line by line for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from menus.labels.cues import Voice
from menus.labels.evidence import Evidence, Span
from menus.labels.explained import Explained, Known, Line, Strange
from menus.labels.lexicon import Entry, Term

_DEEPEST = 12
"""How far lines are indented: brackets nest as deep as a label is long."""


def printed(told: Explained) -> Iterator[str]:
    """Every line, from the words to what they say."""
    for part in told.parts:
        yield f"{part.part}, as it nests"
        for line in part.lines:
            yield from _line(line)
    yield "what it says"
    for said in told.said:
        yield f"  {said.substance}: {said.level.name.lower()}"
        yield from dict.fromkeys(f"    {_why(piece)}" for piece in said.pieces)
    if not told.said:
        yield "  nothing that the lexicon knows; what the label leaves out, nobody has read"
    for claim in told.claims:
        denied = ", ".join(claim.substances)
        yield f"  claims to be free of {denied}: {_quoted(claim.span)}; shown, and never believed"


def _line(line: Line) -> Iterator[str]:
    pad = "  " * min(line.depth, _DEEPEST)
    words = " … ".join(_quoted(span) for span in line.spans) or "(brackets)"
    yield f"{pad}{words}{_manner(line)}"
    for known in line.known:
        yield from (f"{pad}    {row}" for row in _rows(known))
    for strange in line.strange:
        yield f"{pad}    {_quoted(strange.span)}: {_guess(strange)}"


def _manner(line: Line) -> str:
    notes = [] if line.voice is Voice.INGREDIENT else [f"said as {line.voice}"]
    if line.is_opened:
        notes.append("what it is made of is told")
    return f"  [{'; '.join(notes)}]" if notes else ""


def _guess(strange: Strange) -> str:
    near = ", ".join(term.phrase for term in strange.near)
    if strange.is_slip:
        return f"taken for a slip of {near}"
    return f"not known; near {near}" if near else "not known"


def _rows(known: Known) -> Iterator[str]:
    denied = " (denied)" if known.denied else ""
    where = f"{known.span.start}-{known.span.end} {known.term.phrase}{denied}"
    for entry in known.rows:
        yield f"{where}: {_row(known.term, entry)}"
    for entry in known.elsewhere:
        yield f"{where}: {_row(known.term, entry)}, which does not hold here"


def _row(term: Term, entry: Entry) -> str:
    substances = ", ".join(entry.substances)
    places = f" in {', '.join(sorted(entry.jurisdictions))}" if entry.jurisdictions else ""
    if term.is_silent and not substances:
        return str(entry.meaning)
    return f"{entry.meaning} {substances}{places} ({entry.source}; {entry.verified})"


def _why(piece: Evidence) -> str:
    where = f" {_quoted(piece.span)} of {piece.span.part}" if piece.span else ""
    suggested = f", {piece.term}" if piece.term else ""
    source = f" ({piece.source}; {piece.verified})" if piece.source else ""
    return f"{piece.kind}:{where}{suggested}{source}"


def _quoted(span: Span) -> str:
    return f"“{' '.join(span.words.split())}” {span.start}-{span.end}"
