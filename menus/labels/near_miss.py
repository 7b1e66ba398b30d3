"""Known words a slip of the pen away from an unknown one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

from rapidfuzz import process
from rapidfuzz.distance import OSA

from menus.labels.lexicon import Lexicon, Meaning, Term
from menus.labels.spelling import canonical

_SHORTEST = 5
_LONG = 9
_SLIPS = 2
_SWAPPABLE = 4
_BESIDE = 4
_ALIKE = {"i": "l", "l": "i"}
_DETERMINED = 5
_SCANNED = (str.maketrans("01589", "olsbg"), str.maketrans("01589", "oisbg"))
_NAMES = frozenset({Meaning.NAMED, Meaning.DERIVED})


def near_misses(lexicon: Lexicon, word: str) -> tuple[Term, ...]:
    """One-word terms within one slip of this word, two for a long word; the nearest first.

    A scanner's digits count as the letters they look like. A short word keeps its first letter: few slips change that.
    """
    if any(letter.isdigit() for letter in word):
        seen = dict.fromkeys(canonical(word.translate(letters)) for letters in _SCANNED)
        return tuple(lexicon.terms[(spelling,)] for spelling in seen if (spelling,) in lexicon.terms)
    if len(word) < _SHORTEST:
        return ()
    slips = 2 if len(word) >= _LONG else 1
    near = (term for term, distance in _near(lexicon, word) if distance <= slips)
    return tuple(term for term in near if len(word) > _SHORTEST or _begins_alike(term, word))


def slip_of(lexicon: Lexicon, word: str, may_be_cut: bool = True) -> tuple[Term, ...]:
    """The known words that this one is plainly a slip of: all that are as near as the nearest, none if it is a riddle.

    In a word of four letters only two that changed places are plain ("slat") or an l that looks like an i. A word of
    five keeps its first letter, but for a substance's name. A long word may hold two slips, unless they lead to a word
    that names nothing. A word that only lacks its end, with nothing after it, may be where the text was cut.
    """
    if not word.isalpha():
        return near_misses(lexicon, word)
    if len(word) < _SHORTEST:
        return _swapped(lexicon, word) if len(word) == _SWAPPABLE else ()
    near = _near(lexicon, word)
    if not near or (len(word) == _SHORTEST and not any(_begins_alike(term, word) for term, _ in near)):
        return ()
    if len(word) == _SHORTEST:
        near = tuple(entry for entry in near if _begins_alike(entry[0], word) or _names_something(entry[0]))
    nearest = near[0][1]
    terms = tuple(term for term, distance in near if distance == nearest)
    if may_be_cut and any(term.words[0].startswith(word) for term, _ in near):
        return ()
    if nearest > 1 and (len(word) < _LONG or any(term.is_silent for term in terms)):
        return ()
    return terms


def slip_beside(lexicon: Lexicon, words: Sequence[str], place: int) -> tuple[Term, ...]:
    """The known phrases that the word at this place completes with the words around it, but for one slip.

    "Xanthan cum" says by its neighbour what is meant, where the word alone would not. A very short word must have
    neighbours that few words fit, or keep its first letter.
    """
    word = words[place]
    may_be_cut = place + 1 == len(words)
    if len(word) < 2 or not word.isalpha():
        return ()
    found: dict[Term, None] = {}
    for first, last in _windows(place, len(words)):
        before, after = words[first:place], words[place + 1 : last]
        fitting = _gaps(lexicon).get((*before, "", *after), ())
        for meant in fitting:
            if _is_meant(word, meant, len(fitting)) and not (may_be_cut and meant.startswith(word)):
                found[lexicon.terms[(*before, meant, *after)]] = None
    return tuple(found)


def _windows(place: int, length: int) -> Iterator[tuple[int, int]]:
    """Every stretch of two or three words that holds this place."""
    for first in range(max(0, place - 2), place + 1):
        for last in range(max(place + 1, first + 2), min(length, first + 3) + 1):
            yield first, last


def _is_meant(word: str, meant: str, rivals: int) -> bool:
    if len(word) < _BESIDE and rivals > _DETERMINED and (len(word) < 3 or word[0] != meant[0]):
        return False
    return int(OSA.distance(word, meant, score_cutoff=1)) == 1


@lru_cache(maxsize=4)
def _gaps(lexicon: Lexicon) -> dict[tuple[str, ...], tuple[str, ...]]:
    """For every phrase of two or three words with one word left out, the words that fill the gap."""
    gaps: dict[tuple[str, ...], list[str]] = {}
    for words, term in lexicon.terms.items():
        if len(words) in (2, 3) and not term.is_accepted_silence:
            for gap, word in enumerate(words):
                gaps.setdefault((*words[:gap], "", *words[gap + 1 :]), []).append(word)
    return {around: tuple(words) for around, words in gaps.items()}


def _begins_alike(term: Term, word: str) -> bool:
    return term.words[0][0] == word[0]


def _names_something(term: Term) -> bool:
    """Whether it is the name of a substance or of what is made from it, not of a food that may hold it."""
    return any(entry.meaning in _NAMES for entry in term.entries)


def _swapped(lexicon: Lexicon, word: str) -> tuple[Term, ...]:
    """What it is when two neighbours, or i and l, change places; and any substance whose name is as near by a slip."""
    swaps = [word[:at] + word[at + 1] + word[at] + word[at + 2 :] for at in range(len(word) - 1)]
    swaps += [word[:at] + _ALIKE[word[at]] + word[at + 1 :] for at in range(len(word)) if word[at] in _ALIKE]
    known = (lexicon.terms.get((swap,)) for swap in dict.fromkeys(swaps) if swap != word)
    meant = [term for term in known if term is not None and not term.is_accepted_silence]
    if not meant:
        return ()
    near = (term for term, distance in _near(lexicon, word) if distance == 1 and _begins_alike(term, word))
    names = (term for term in near if _names_something(term))
    return tuple(dict.fromkeys((*meant, *names)))


@lru_cache(maxsize=65536)
def _near(lexicon: Lexicon, word: str) -> tuple[tuple[Term, int], ...]:
    """Every one-word term within two slips, the nearest first."""
    if len(word) < _SWAPPABLE:
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
    for words, term in lexicon.terms.items():
        if len(words) == 1 and not term.is_accepted_silence:
            by_length.setdefault(len(words[0]), []).append(words[0])
    return {length: tuple(sorted(words)) for length, words in by_length.items()}
