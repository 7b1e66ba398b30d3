"""Words of a food's name, one spelling each, and the marks between them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from enum import StrEnum

_TOKEN = re.compile(r"[a-z0-9]+|[,;:()\[\]/|.&+\n]")
_JOINING = frozenset({"and", "with", "w", "or", "plus", "served", "&", "+", "/", "|", ";", "\n"})
_AS_IS = frozenset({"swiss", "hummus", "couscous", "asparagus", "molasses", "gas", "citrus", "is", "this", "various"})


class Mark(StrEnum):
    """What a token does to the names around it."""

    WORD = "word"
    BREAK = "break"  # another item, or the form of the same item: a comma, a bracket
    JOIN = "join"  # certainly another item: "and", "with", "or"


@dataclass(frozen=True, slots=True)
class Token:
    """A word in its singular, or a mark. `plural` tells whether it was written in the plural."""

    word: str
    start: int
    end: int
    mark: Mark = Mark.WORD
    plural: bool = False


def tokenise(text: str) -> list[Token]:
    """Return the words and marks of any text; what is neither is passed over."""
    return [_token(match) for match in _TOKEN.finditer(_plain(text))]


def words_of(phrase: str) -> tuple[str, ...]:
    """Return a phrase as it is looked up: the same road a name takes. Joining words stay words."""
    return tuple(singular(word) for word in re.findall(r"[a-z0-9]+", _plain(phrase)))


def singular(word: str) -> str:
    """Return the singular of an English food word, good enough to meet itself again."""
    if len(word) < 4 or word in _AS_IS or not word.endswith("s") or word.endswith(("ss", "us")):
        return word
    if word == "leaves":
        return "leaf"
    if word.endswith("ies"):
        return word[:-3] + "y" if len(word) > 5 else word[:-1]
    if word.endswith(("sses", "xes", "ches", "shes", "toes")):
        return word[:-2]
    return word[:-1]


def _plain(text: str) -> str:
    """Lower case without accents; one character stays one, so that places stay right."""
    return "".join(_letter(char) for char in text)


def _letter(char: str) -> str:
    base = unicodedata.normalize("NFKD", char)[:1].lower()
    return base if len(base) == 1 else " "


def _token(match: re.Match[str]) -> Token:
    text, start, end = match.group(), match.start(), match.end()
    if text in _JOINING:
        return Token("and" if text in "&+" else text, start, end, Mark.JOIN)
    if not text.isalnum():
        return Token(text, start, end, Mark.BREAK)
    word = singular(text)
    return Token(word, start, end, plural=word != text)
