"""Words that say in which form a food is: cut, cooked, ground, or turned into something else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from menus.mealpattern.hazards import phrases, rows
from menus.mealpattern.tokens import Mark, Token

WHOLE = "whole"
SHAPES = frozenset(
    {"whole", "quartered", "halved", "diced", "chopped", "fine", "thin", "sliced"}
    | {"raw", "stick", "cube", "chunk", "round", "ball", "pieces"}
)
"""Forms that say how a food is cut; the others (cooked, canned, ripe) leave the cut open."""


@dataclass(frozen=True, slots=True)
class Said:
    """The forms that words around a food's name say, and whether they say so without a doubt."""

    forms: frozenset[str] = frozenset()
    open: bool = False  # "whole", "not", or a choice: "halved or quartered"

    def __or__(self, other: Said) -> Said:
        return Said(self.forms | other.forms, self.open or other.open)


@cache
def _table(place: str) -> dict[tuple[str, ...], str]:
    told = [row for row in rows("forms.csv") if row["place"] == place]
    return {words: row["form"] for row in told for words in phrases(row["words"])}


def is_filler(tokens: Sequence[Token]) -> bool:
    """Tell whether the words say form, size or freshness and name no food."""
    place = 0
    while place < len(tokens):
        if tokens[place].mark is not Mark.WORD:
            return False
        found = _longest(tokens, place, "cut")
        if not found and not (_is_small_word(tokens[place].word)):
            return False
        place += found[1] if found else 1
    return True


def _is_small_word(word: str) -> bool:
    return word.isdigit() or (word,) in _table("filler")


def cut_forms(tokens: Sequence[Token]) -> Said:
    """Return the cuts that the words say, read from left to right, the longest phrase first."""
    forms: set[str] = set()
    place = 0
    while place < len(tokens):
        found = _longest(tokens, place, "cut")
        if found:
            forms.add(found[0])
        place += found[1] if found else 1
    doubt = {token.word for token in tokens} & {"not", "or", "un", "if", "maybe"}
    return Said(frozenset(forms), bool(doubt) or WHOLE in forms)


def head_form(tokens: Sequence[Token], place: int) -> str:
    """Return what a name's head at this place turns the word before it into ("grape *juice*"), or nothing."""
    found = _longest(tokens, place, "head")
    return found[0] if found else ""


def last_head(tokens: Sequence[Token]) -> str:
    """Return what a product's name says that everything in it was turned into ("basil *pesto*, green"), or nothing."""
    words: list[Token] = []
    for token in tokens:
        if token.mark is not Mark.WORD:
            break
        words.append(token)
    while words and is_filler(words[-1:]):
        words.pop()
    for place in range(max(0, len(words) - 3), len(words)):
        found = _longest(words, place, "head")
        if found and place + found[1] == len(words):
            return found[0]
    return ""


def _longest(tokens: Sequence[Token], place: int, where: str) -> tuple[str, int] | None:
    table = _table(where)
    for length in range(min(4, len(tokens) - place), 0, -1):
        words = tuple(token.word for token in tokens[place : place + length])
        if words in table:
            return table[words], length
    return None
