"""Label text folded to plain letters, with the way back to the characters as they were stored."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import cache


@dataclass(frozen=True, slots=True)
class FoldedText:
    """`text` is folded; character i of it stands for `source[origin[i]]` (for itself when origin is None)."""

    text: str
    source: str
    origin: tuple[int, ...] | None

    def locate(self, start: int, end: int) -> tuple[int, int]:
        """Where a stretch of the folded text lies in the source."""
        if self.origin is None:
            return start, end
        last = self.origin[end - 1] + 1
        while last < len(self.source) and unicodedata.combining(self.source[last]):
            last += 1  # an accent typed as a character of its own belongs to its letter
        return self.origin[start], last


def fold(source: str) -> FoldedText:
    """Fold case, width, ligatures and accents away; every character keeps its place in the source."""
    if source.isascii():
        return FoldedText(source.lower(), source, None)
    folded: list[str] = []
    origin: list[int] = []
    for index, character in enumerate(source):
        plain = _fold_character(character)
        folded.append(plain)
        origin.extend([index] * len(plain))
    return FoldedText("".join(folded), source, tuple(origin))


@cache
def _fold_character(character: str) -> str:
    if character in _LOOKALIKES:
        return _LOOKALIKES[character]
    parts = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", character).casefold())
    return "".join(part for part in parts if not unicodedata.combining(part) and part not in _INVISIBLE)


_LOOKALIKES = {
    "œ": "oe",
    "Œ": "oe",
    "æ": "ae",
    "Æ": "ae",
    "ø": "o",
    "Ø": "o",
    "ł": "l",
    "’": "'",
    "‘": "'",
    "`": "'",
    "–": "-",
    "—": "-",
    "−": "-",
    "‐": "-",
    "‑": "-",
    "，": ",",
    "、": ",",
    "؛": ";",
    "；": ";",
    "…": "...",
    "™": " ",
    "℠": " ",
}
_INVISIBLE = frozenset("\u00ad\u200b\u200c\u200d\u2060\ufeff")
