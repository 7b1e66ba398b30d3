"""Foods as families write them, in English or Spanish, taken as the gravest reading that their words allow."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING

from menus.labels.lexicon import Lexicon, Meaning, words_of
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance
from roster.kinds.spanish import spanish_rows

if TYPE_CHECKING:
    from collections.abc import Mapping

NUTS = ("peanut", "tree-nut")
EITHER = frozenset({"nut", "nuts", "all nuts", "mixed nuts", "nueces", "frutos secos", "todas las nueces"})
"""Words that people use for tree nuts, for peanut, or for both (common practice, no source): they stand for both."""

SURE = frozenset({Meaning.NAMED, Meaning.DERIVED, Meaning.GROUP})
NEAR = 0.8
"""How alike (difflib's ratio) a word must be to a known name to count as a slip of the pen; chosen on our own cases."""

PIECES = re.compile(r"[\n,;]+")


@dataclass(frozen=True, slots=True)
class Heard:
    """One food as somebody wrote it. `is_sure`: the words are a known name, and one thing alone."""

    words: str
    codes: tuple[str, ...]
    is_sure: bool


def heard(text: str) -> tuple[Heard, ...]:
    """Return each food named in the text, one a line or between commas. Words nobody knows come with no codes."""
    return tuple(_heard(piece) for piece in dict.fromkeys(_pieces(text)))


def _pieces(text: str) -> Iterable[str]:
    return (" ".join(piece.split()) for piece in PIECES.split(text) if piece.strip())


def _heard(words: str) -> Heard:
    key = _key(words)
    if key in EITHER:
        return Heard(words, NUTS, is_sure=False)
    if known := _named(words, key):
        return Heard(words, known, is_sure=True)
    near = get_close_matches(key, _names(), n=1, cutoff=NEAR)
    return Heard(words, tuple(code for name in near for code in _names()[name]), is_sure=False)


def _named(words: str, key: str) -> tuple[str, ...]:
    try:
        return (Catalogue.load().resolve(words).code,)
    except UnknownSubstance:
        pass  # it may still be a Spanish name, or a word that the lexicon knows
    if key in _names():
        return _names()[key]
    term = Lexicon.load().terms.get(words_of(words))
    entries = term.entries if term else ()
    return tuple(dict.fromkeys(code for each in entries if each.meaning in SURE for code in each.substances))


@cache
def _names() -> Mapping[str, tuple[str, ...]]:
    """Every name of the catalogue in both languages, without accents and in small letters."""
    names: dict[str, tuple[str, ...]] = {}
    for substance in Catalogue.load():
        for name in (substance.name, *substance.also_called):
            names.setdefault(_key(name), (substance.code,))
    for row in spanish_rows():
        if row.of == "substance":
            for name in (row.es, *row.also):
                names.setdefault(_key(name), (row.code,))
    return MappingProxyType(names)


def _key(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text.casefold())
    return " ".join("".join(each for each in plain if not unicodedata.combining(each)).split()).strip(" .")
