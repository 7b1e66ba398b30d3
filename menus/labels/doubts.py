"""What speaks against taking a new word for harmless: known names in it, or a slip of the pen away from it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from itertools import groupby

from rapidfuzz import process
from rapidfuzz.distance import OSA

from menus.labels.cues import find_cues
from menus.labels.evidence import Kind
from menus.labels.label import LabelText
from menus.labels.lexicon import Lexicon, Meaning, Term
from menus.labels.matcher import matcher_of
from menus.labels.reader import read
from menus.labels.text import FoldedText, fold
from menus.labels.tokens import Mark, Token, tokenise

_WORDS = frozenset({Mark.WORD, Mark.NUMBER})
_CERTAIN = frozenset({Meaning.NAMED, Meaning.DERIVED})
_LONG = 6
"""A word this long may be two slips away from the one that was meant, a shorter one is one slip away."""
_SHORTEST = 3
_SHORT = 3
"""Names this short ("egg", "soy") stand by chance in the middle of words, so they count at either end only."""


class Ground(StrEnum):
    """Why a word is in doubt."""

    SAYS = "says"  # a word of it is known, and names a substance
    HOLDS = "holds"  # the letters of a known name stand in it
    NEAR = "near"  # it is a slip of the pen away from a known name


@dataclass(frozen=True, slots=True)
class Doubt:
    """One reason to look again, with the names of the lexicon that it rests on."""

    word: str  # as it is written
    ground: Ground
    names: tuple[str, ...]
    substances: frozenset[str]

    @property
    def key(self) -> str:
        """What tells it from the other doubts of a phrase. Another name in the lexicon makes it another doubt."""
        return f"{self.word} {self.ground} {', '.join(self.names)}"

    def is_answered(self, meaning: Meaning, substances: Collection[str]) -> bool:
        """Whether a row of this meaning says all that the doubt is about, and says it as gravely."""
        return meaning in _CERTAIN and self.substances <= set(substances)


def is_one_phrase(text: str) -> bool:
    """Whether a label can name it in one go: words alone, without punctuation that ends an item or changes the voice.

    What is no such phrase would never be met on a label, or would swallow a "may contain".
    """
    folded = fold(text)
    tokens = tokenise(folded)
    return bool(tokens) and all(token.mark in _WORDS for token in tokens) and not find_cues(folded.text)


def strange_words(phrase: str, lexicon: Lexicon) -> tuple[str, ...]:
    """The words of the phrase that this lexicon cannot read, or takes for a slip of a substance's name.

    None: there is nothing to add, only to override.
    """
    told = read(LabelText(phrase), lexicon)
    slips = (piece.span for piece in told.evidence if piece.kind is Kind.NEAR_MISS and piece.span)
    return tuple(dict.fromkeys(span.words for span in (*told.unread, *slips)))


def stands_in(words: tuple[str, ...], text: str) -> bool:
    """Whether the text holds these words one after another, in any spelling that is looked up alike."""
    return bool(words) and f" {' '.join(words)} " in _spelled(text)


@lru_cache(maxsize=8192)
def _spelled(text: str) -> str:
    return f" {' '.join(token.word for token in tokenise(fold(text)))} "


def places_in(words: tuple[str, ...], text: str) -> Iterator[tuple[int, int]]:
    """Where the text holds these words, in characters of the text as stored."""
    if not stands_in(words, text):
        return
    folded = fold(text)
    tokens = tokenise(folded)
    for first in range(len(tokens) - len(words) + 1):
        run = tokens[first : first + len(words)]
        if tuple(token.word for token in run) == words:
            yield folded.locate(run[0].start, run[-1].end)


def doubts(phrase: str, lexicon: Lexicon) -> tuple[Doubt, ...]:
    """Every reason to doubt that the phrase names nothing but what is told of it."""
    folded = fold(phrase)
    tokens = tokenise(folded)
    matches, unknown = matcher_of(lexicon).find(tokens)
    found = [
        _doubt(_written(folded, tokens[match.first : match.last]), Ground.SAYS, [match.term])
        for match in matches
        if not match.term.is_silent
    ]
    for run in _runs(tokens, unknown):
        word, letters = _written(folded, run), "".join(token.word for token in run)
        held = list(_held(letters, lexicon))
        found.append(_doubt(word, Ground.HOLDS, held))
        found.append(_doubt(word, Ground.NEAR, (term for term in _near(letters, lexicon) if term not in held)))
    return tuple(dict.fromkeys(doubt for doubt in found if doubt.names))


def _doubt(word: str, ground: Ground, terms: Iterable[Term]) -> Doubt:
    by_phrase = {term.phrase: term for term in terms}
    codes = frozenset(code for term in by_phrase.values() for entry in term.entries for code in entry.substances)
    return Doubt(word, ground, tuple(by_phrase), codes)


def _runs(tokens: list[Token], unknown: list[int]) -> Iterator[list[Token]]:
    """Each unknown word, and those that stand side by side as one: a torn word is "cas ein"."""
    for _, run in groupby(enumerate(unknown), key=lambda each: each[1] - each[0]):
        places = [place for _, place in run]
        yield from ([tokens[place]] for place in places)
        if len(places) > 1:
            yield [tokens[place] for place in places]


def _written(folded: FoldedText, run: list[Token]) -> str:
    start, end = folded.locate(run[0].start, run[-1].end)
    return folded.source[start:end]


def _held(letters: str, lexicon: Lexicon) -> Iterator[Term]:
    """Names whose letters stand in the word, the longest first."""
    names = _names(lexicon)
    for length in range(len(letters), _SHORTEST - 1, -1):
        ends = (0, len(letters) - length)
        for start in range(len(letters) - length + 1) if length > _SHORT else dict.fromkeys(ends):
            if term := names.get(letters[start : start + length]):
                yield term


def _near(letters: str, lexicon: Lexicon) -> Iterator[Term]:
    """Names a slip away, the nearest first. Wider than what the reader takes for a slip: here somebody has time."""
    if len(letters) < _SHORTEST:
        return
    names = _names(lexicon)
    slips = 2 if len(letters) >= _LONG else 1
    found = process.extract(letters, list(names), scorer=OSA.distance, score_cutoff=slips, limit=None)
    for name, _, _ in sorted(found, key=lambda each: (each[1], each[0])):
        yield names[name]


@lru_cache(maxsize=4)
def _names(lexicon: Lexicon) -> dict[str, Term]:
    """Single words of the lexicon that say something of a substance."""
    return {words[0]: term for words, term in lexicon.terms.items() if len(words) == 1 and not term.is_silent}
