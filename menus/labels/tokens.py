"""A label cut into words and the punctuation that carries its structure."""

from __future__ import annotations

import re
from enum import IntEnum
from typing import NamedTuple

from menus.labels.spelling import canonical
from menus.labels.text import FoldedText


class Mark(IntEnum):
    """What a token does to the structure of the list."""

    WORD = 0
    NUMBER = 1
    OPEN = 2
    CLOSE = 3
    COMMA = 4
    STOP = 5
    COLON = 6


class Token(NamedTuple):
    """`word` is the spelling to look up; start and end are places in the folded text."""

    word: str
    start: int
    end: int
    mark: Mark
    is_owner: bool = False  # written with 's: "baker's"


_PATTERN = re.compile(
    r"""
    (?P<joined>[^\W\d_]+-[ \t]*\r?\n\s*[^\W\d_]+)             # a word broken over two lines
  | (?P<enumber>\b(?:e|ins)[ .-]?\d{3,4}(?:[a-f]?(?:\([ivx]+\)|[ivx]+\b)|[a-f]?\b))  # e471, E 150d, INS 450(iii)
  | (?P<scanned>\b\d[^\W\d_]{2,}\b)                           # 0ats: a scanner's digit for a letter; 50g is a number
  | (?P<number>\#?\d+(?:[.,]\d+)*(?:%|[a-f]\b|\b))              # 2%, 1,000 and the additive 150d
  | (?P<elided>\b[dl]'(?=[^\W\d_]{3}))                         # d'orge, l'huile
  | (?P<word>[^\W\d_](?:[^\W_]|'(?=[^\W_]))*)
  | (?P<open>[(\[{])
  | (?P<close>[)\]}])
  | (?P<comma>[,;•·|¶◦▪●])
  | (?P<stop>[.!?](?=\s|$|["')\]}*]|[^\W\d_]{3})|\.{2,})
  | (?P<colon>:)
  | (?P<and>&|\+)
    """,
    re.VERBOSE,
)
_MARKS = {"open": Mark.OPEN, "close": Mark.CLOSE, "comma": Mark.COMMA, "stop": Mark.STOP, "colon": Mark.COLON}
_SHORTENED = frozenset({"no", "nos", "st", "dr", "approx", "incl", "vit", "min", "conc", "hydr", "fd", "var"})
_UNITS = frozenset({"mg", "mcg", "ml", "kg", "lb", "oz", "ppm", "kcal", "cal", "kj", "iu", "st", "nd", "rd", "th"})


def tokenise(folded: FoldedText) -> list[Token]:
    """Words, numbers and structure in order; quotation marks, asterisks and the like fall away."""
    tokens: list[Token] = []
    for match in _PATTERN.finditer(folded.text):
        kind = match.lastgroup
        text, start, end = match.group(), match.start(), match.end()
        if kind == "word":
            tokens.append(Token(canonical(text), start, end, Mark.WORD, text.endswith("'s")))
        elif kind == "scanned":
            tokens.append(Token(text, start, end, Mark.NUMBER if text[1:] in _UNITS else Mark.WORD))
        elif kind == "number":
            tokens.append(Token(text.strip("#%"), start, end, Mark.NUMBER))
        elif kind == "enumber":
            digits = text.lstrip("eins .-").partition("(")[0]
            tokens.append(Token(f"e{digits.rstrip('ivx')}", start, end, Mark.WORD))
        elif kind == "joined":
            tokens.append(Token(canonical(re.sub(r"-\s+", "", text)), start, end, Mark.WORD))
        elif kind == "and":
            tokens.append(Token("and", start, end, Mark.WORD))
        elif kind == "stop" and tokens and _shortens(tokens[-1], text, start):
            continue
        elif kind in _MARKS:
            tokens.append(Token(text, start, end, _MARKS[kind]))
    return tokens


def _shortens(before: Token, text: str, start: int) -> bool:
    """Whether this full stop ends an abbreviation rather than a sentence."""
    return (
        text == "."
        and before.end == start
        and before.mark is Mark.WORD
        and (before.word in _SHORTENED or len(before.word) == 1)
    )
