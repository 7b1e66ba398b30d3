"""Words the lexicon does not hold as they stand: run together, torn apart, marked with a footnote, misspelt."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass, field

from menus.labels.lexicon import Term
from menus.labels.matcher import Match, Matcher
from menus.labels.near_miss import slip_beside, slip_of
from menus.labels.spelling import canonical
from menus.labels.tokens import Mark, Token

_SHORTEST_PART = 4
_JOINERS = frozenset({"and", "for", "from", "of", "or", "with"})
_SHORTEST_MARKED = 3
_LONGEST_MARK = 2
_DIGITS = "0123456789"
_CODE = re.compile(r"(?!e\d{3})[a-z]{1,3}\d{2,}")


@dataclass(frozen=True, slots=True)
class Slip:
    """A word plainly meant for a known one that names a substance. All known words as near are its terms."""

    token: Token
    terms: tuple[Term, ...]


@dataclass(slots=True)
class Mended:
    """What is understood of a stretch once its unknown words have been looked at again."""

    matches: list[Match] = field(default_factory=list)
    slips: list[Slip] = field(default_factory=list)
    unknown: list[int] = field(default_factory=list)  # places of the words that stay unknown


def mend(stretch: Sequence[Token], matches: Sequence[Match], unknown: Sequence[int], matcher: Matcher) -> Mended:
    """Look at each unknown word again, from the change that alters it least to a slip of the pen."""
    words = [token.word for token in stretch]
    alone = {match.first: match.term for match in matches if match.last == match.first + 1}
    strange = {place for place in unknown if stretch[place].mark is Mark.WORD}
    mended = Mended()
    joined: set[int] = set()
    for place in sorted(strange):
        if place in joined:
            continue
        torn = _torn(words, place, alone, strange, matcher)
        if torn is not None and not joined & {torn.first, torn.first + 1}:
            mended.matches.append(torn)
            joined |= {torn.first, torn.first + 1}
            continue
        known, suspects = _reread(words, place, matcher)
        mended.matches.extend(Match(term, place, place + 1) for term in known)
        if suspects:
            mended.slips.append(Slip(stretch[place], suspects))
        if not (known or suspects or _is_code(words[place])):
            mended.unknown.append(place)
    mended.matches.extend(match for match in matches if match.first not in joined)
    mended.matches.sort(key=lambda match: match.first)
    return mended


def _torn(
    words: Sequence[str], place: int, alone: Mapping[int, Term], strange: Set[int], matcher: Matcher
) -> Match | None:
    """ "Pow der", "oleo resin": the word and a neighbour are one known word, and no substance named is lost by it."""
    for first in (place, place - 1):
        if first < 0 or first + 1 >= len(words):
            continue
        together = matcher.term(words[first] + words[first + 1])
        if together is None:
            continue
        other = first + 1 if first == place else first
        beside = alone.get(other)
        if other in strange or (beside is not None and (beside.is_silent or not together.is_silent)):
            return Match(together, first, first + 2)
    return None


def _reread(words: Sequence[str], place: int, matcher: Matcher) -> tuple[tuple[Term, ...], tuple[Term, ...]]:
    """The terms it is made of or plainly meant for, and those that name a substance and are as likely meant."""
    word = words[place]
    parts = _parts(word, matcher) or _unmarked(word, matcher)
    meant = slip_of(matcher.lexicon, word, may_be_cut=place + 1 == len(words))
    if parts:
        return parts, tuple(term for term in meant if not term.is_silent)
    meant = meant or slip_beside(matcher.lexicon, words, place)
    return (meant[:1], ()) if all(term.is_silent for term in meant) else ((), meant)


def _parts(word: str, matcher: Matcher) -> tuple[Term, ...]:
    """Words run together: "wheatflour", "milkpowder", "palmand"."""
    for cut in range(_SHORTEST_PART - 1, len(word) - _SHORTEST_PART + 2):
        together = matcher.term(word[:cut], word[cut:])
        if together is not None:
            return (together,)
    for cut in range(2, len(word) - 1):
        if not (_is_part(word[:cut]) and _is_part(word[cut:])):
            continue
        first, second = matcher.term(canonical(word[:cut])), matcher.term(word[cut:])
        if first is not None and second is not None:
            return first, second
    return ()


def _is_part(word: str) -> bool:
    return len(word) >= _SHORTEST_PART or word in _JOINERS


def _unmarked(word: str, matcher: Matcher) -> tuple[Term, ...]:
    """ "Soybeans2", "9sodium": the number of a footnote, or a bracket read as a 9, set close to its word."""
    bare = word.strip(_DIGITS)
    if len(bare) < _SHORTEST_MARKED or not 0 < len(word) - len(bare) <= _LONGEST_MARK:
        return ()
    term = matcher.term(canonical(bare))
    return (term,) if term is not None else ()


def _is_code(word: str) -> bool:
    """ "CL1285": the mark of a strain or a make, too short of letters to spell a food."""
    return _CODE.fullmatch(word) is not None
