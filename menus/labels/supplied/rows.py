"""A supplier's data as text: one allergen a line, `AM CONTAINS (Milk)`, and beside them the supplier's own sentences.

Whatever stands after the level is kept as it is: whose rules it follows, the day it was stated. Rows may also stand
between commas or semicolons. A line that begins with “Ingredients:” or “Allergen statement:” is read as words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from menus.labels.evidence import Part, Span
from menus.labels.supplied.codes import allergen_codes, bare_code
from menus.labels.supplied.levels import bare_level, levels

INGREDIENTS = "Ingredients:"
STATEMENT = "Allergen statement:"

_LINE = re.compile(r"[^\r\n]+")
_BETWEEN_ROWS = re.compile(r"[^,;]+")
_ROW = re.compile(
    r"""\s*(?P<code>[^\s=|(]+)
    (?:[\s=|]+(?P<level>may[ ]contain|free[ ]from|[^\s=|(]+))?
    (?:\s*\([^()]*\))?  # the allergen's name, for people""",
    re.VERBOSE | re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Row:
    """What is said of one allergen. The span reaches from the code to the level, or to the name after it."""

    code: str
    level: str  # empty: not given
    span: Span
    note: str  # what stands after the span

    @property
    def line(self) -> str:
        """The row as it is stored; one that is not understood, as it was written."""
        if self.code in allergen_codes() and (not self.level or self.level in levels()):
            return line_of(self.code, self.level, self.note)
        return " ".join(f"{self.span.words} {self.note}".split())


@dataclass(frozen=True, slots=True)
class Words:
    """A sentence of the supplier's, and where it begins."""

    start: int
    text: str


def cut(text: str) -> tuple[list[Row], list[Words]]:
    """Take the text apart. Any text can be."""
    rows: list[Row] = []
    words: list[Words] = []
    for line in _LINE.finditer(text):
        if line.group().lstrip().casefold().startswith((INGREDIENTS.casefold(), STATEMENT.casefold())):
            words.append(Words(line.start(), line.group()))
        else:
            rows.extend(_rows(text, line.start(), line.end()))
    return rows, words


def line_of(code: str, level: str = "", note: str = "") -> str:
    """One row as it is stored: the code and level alone, the allergen's name where it is known, the note."""
    known = allergen_codes().get(code)
    note = " ".join(re.sub(r"[,;]", " ", note).split())
    return " ".join(part for part in (code, level, f"({known.name})" if known else "", note) if part)


def written_alike(text: str) -> str:
    """The text with every row written as `line_of` writes it, in its order, and the sentences after them."""
    rows, words = cut(text)
    return "\n".join([*(row.line for row in rows), *(each.text.strip() for each in words)])


def _rows(text: str, start: int, end: int) -> Iterator[Row]:
    for piece in _BETWEEN_ROWS.finditer(text, start, end):
        match = _ROW.match(text, piece.start(), piece.end())
        if match is None:
            if piece.group().strip():
                yield _unfit(text, piece)
            continue
        place = Span(Part.SUPPLIED, match.start("code"), match.end(), text[match.start("code") : match.end()])
        level = bare_level(match["level"] or "")
        yield Row(bare_code(match["code"]), level, place, text[match.end() : piece.end()].strip())


def _unfit(text: str, piece: re.Match[str]) -> Row:
    """What begins with no code at all is a row of no code, so that it counts as not read."""
    words = piece.group().strip()
    start = text.index(words, piece.start())
    return Row("", "", Span(Part.SUPPLIED, start, start + len(words), words), "")
