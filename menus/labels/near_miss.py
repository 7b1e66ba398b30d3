"""Known words a slip of the pen away from an unknown one."""

from __future__ import annotations

from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from menus.labels.lexicon import Lexicon, Term
from menus.labels.spelling import canonical

_SHORTEST = 5
_LONG = 9
_SLIPS = 2
_SPELLABLE = 7
_SCANNED = str.maketrans("015", "ols")


def near_misses(lexicon: Lexicon, word: str) -> tuple[Term, ...]:
    """One-word terms within one slip of this word, two for a long word; the nearest first.

    A scanner's digits count as the letters they look like.
    """
    if any(letter.isdigit() for letter in word):
        known = lexicon.terms.get((canonical(word.translate(_SCANNED)),))
        return (known,) if known is not None else ()
    slips = 2 if len(word) >= _LONG else 1
    return tuple(term for term, distance in _near(lexicon, word) if distance <= slips)


def harmless_slip(lexicon: Lexicon, word: str) -> Term | None:
    """The silent term this long word is plainly a slip of ("riboflavn"): one slip away, and nothing else near.

    Reading such a slip keeps the unread words few enough to be looked at. A word with any substance's name within two
    slips is never read this way.
    """
    if len(word) < _SPELLABLE or not word.isalpha():
        return None
    near = _near(lexicon, word)
    if not near or near[0][1] > 1 or not all(term.is_silent for term, _ in near):
        return None
    return near[0][0]


@lru_cache(maxsize=65536)
def _near(lexicon: Lexicon, word: str) -> tuple[tuple[Term, int], ...]:
    """Every one-word term within two slips, the nearest first."""
    if len(word) < _SHORTEST:
        return ()
    by_length = _words(lexicon)
    found = [
        (known, int(distance))
        for length in range(len(word) - _SLIPS, len(word) + _SLIPS + 1)
        for known, distance, _ in process.extract(
            word, by_length.get(length, ()), scorer=OSA.distance, score_cutoff=_SLIPS, limit=None
        )
    ]
    found.sort(key=lambda entry: (entry[1], entry[0]))
    return tuple((lexicon.terms[(known,)], distance) for known, distance in found)


@lru_cache(maxsize=4)
def _words(lexicon: Lexicon) -> dict[int, tuple[str, ...]]:
    """The lexicon's single words by their length: a word two letters longer is two slips away already."""
    by_length: dict[int, list[str]] = {}
    for words in lexicon.terms:
        if len(words) == 1:
            by_length.setdefault(len(words[0]), []).append(words[0])
    return {length: tuple(sorted(words)) for length, words in by_length.items()}
