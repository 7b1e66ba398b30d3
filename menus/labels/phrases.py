"""What each item's words are known to say: matches in place, words nobody knows, claims of absence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from menus.labels.cues import Voice
from menus.labels.lexicon import Term
from menus.labels.listing import Item, is_additive_class
from menus.labels.matcher import Match, Matcher
from menus.labels.mending import Slip, mend
from menus.labels.names import makers
from menus.labels.tokens import Mark, Token

_OIL_WORDS = frozenset({"oil", "shortening", "fat"})
_DENIALS = frozenset({"no", "non", "without", "not", "zero", "sans", "sin"})
_BETWEEN_DENIAL = frozenset({"added", "any", "artificial", "contain", "of", "actual"})
_BETWEEN_NUMBERS = frozenset({"and", "or", "ins", "no"})
_GLUTEN = ("gluten",)
_PROMISES = frozenset({"guarantee", "guaranteed"})


@dataclass(frozen=True, slots=True)
class Phrase:
    """A known phrase in place; start and end are places in the folded text."""

    term: Term
    start: int
    end: int
    stretch: int
    denied: bool = False  # "no milk", "milk-free"


@dataclass(eq=False, slots=True)
class ReadItem:
    """An item with what was understood of it."""

    item: Item
    voice: Voice
    phrases: list[Phrase] = field(default_factory=list)
    slips: list[Slip] = field(default_factory=list)
    unknown: list[Token] = field(default_factory=list)
    is_opened: bool = False  # brackets or a heading say what it is made of
    specified: frozenset[str] = frozenset()  # the substances named in its brackets or under its heading

    @property
    def is_plain(self) -> bool:
        """Whether it is nothing but substances' own names and grammar, as declarations are."""
        return not (self.unknown or self.slips) and all(
            phrase.term.is_filler or phrase.term.is_plain_name for phrase in self.phrases
        )

    @property
    def names_plainly(self) -> bool:
        """Whether it says some substance's own name."""
        return any(phrase.term.is_plain_name for phrase in self.phrases)

    @property
    def is_mere_grammar(self) -> bool:
        """Whether it names no ingredient at all: "contains 2% or less of"."""
        return not (self.unknown or self.slips or self.item.children) and all(
            phrase.term.is_filler for phrase in self.phrases
        )

    @property
    def names_something(self) -> bool:
        return any(not phrase.term.is_silent for phrase in self.phrases)


def read_item(item: Item, matcher: Matcher) -> ReadItem:
    """Match the item's words, mend what slipped, mark what is denied."""
    read = ReadItem(item, item.voice)
    for number, stretch in enumerate(item.stretches):
        if not stretch:
            continue
        stretch = _numbered(item, stretch, matcher)
        matches, unknown = matcher.find(stretch)
        if unknown:
            mended = mend(stretch, matches, unknown, matcher)
            matches = mended.matches
            names = makers(stretch, matches, mended.unknown)
            read.slips.extend(mended.slips)
            read.unknown.extend(
                stretch[place] for place in mended.unknown if place not in names and _is_word(stretch[place])
            )
        matches = _as_oils(item, number, stretch, matches, matcher)
        matches = _as_free(stretch, matches, matcher)
        read.phrases.extend(_phrases(number, stretch, matches, item.voice))
    return read


def _numbered(item: Item, stretch: list[Token], matcher: Matcher) -> list[Token]:
    """Numbers after the class of an additive are looked up as additives: "emulsifier (322)", "preservative 223"."""
    if all(token.mark is not Mark.NUMBER for token in stretch):
        return stretch
    told: list[Token] = []
    of_class = item.in_class
    for token in stretch:
        additive = f"e{token.word}" if token.mark is Mark.NUMBER and of_class else ""
        if additive and matcher.term(additive) is not None:
            told.append(Token(additive, token.start, token.end, Mark.WORD))
            continue
        told.append(token)
        of_class = is_additive_class(token.word) or (of_class and token.word in _BETWEEN_NUMBERS)
    return told


def _is_word(token: Token) -> bool:
    return token.mark is Mark.WORD and len(token.word) > 1


def _phrases(number: int, stretch: Sequence[Token], matches: Sequence[Match], voice: Voice) -> Iterator[Phrase]:
    denied = False
    promises_nothing = voice is Voice.MAY_CONTAIN and any(token.word in _PROMISES for token in stretch)
    for match in matches:
        denied = not promises_nothing and _is_denied(stretch, match, denied)
        start, end = stretch[match.first].start, stretch[match.last - 1].end
        yield Phrase(match.term, start, end, number, denied and not match.term.is_silent)


def _is_denied(stretch: Sequence[Token], match: Match, before: bool) -> bool:
    """ "milk free", "no milk", "no milk or egg"; the denial passes on through "or", never through "and"."""
    if match.term.is_filler:
        return before and match.term.words in {("or",), ("nor",)}
    if match.last < len(stretch) and stretch[match.last].word == "free":
        return not (match.last + 1 < len(stretch) and stretch[match.last + 1].word in {"range", "flowing", "run"})
    place = match.first - 1
    while place >= 0 and stretch[place].word in _BETWEEN_DENIAL:
        place -= 1
    if place >= 0 and stretch[place].word in _DENIALS:
        return True
    return before


def _as_oils(item: Item, number: int, stretch: Sequence[Token], matches: list[Match], matcher: Matcher) -> list[Match]:
    """A source that shares its "oil" with a neighbour or a heading is the oil: "soybean and palm oil"."""
    oily = item.in_oil or _next_word_is_oil(item, number)
    for place in range(len(matches) - 1, -1, -1):
        match = matches[place]
        if match.term.is_filler:
            continue
        oil = matcher.term(*match.term.words, "oil") if oily and _is_singular(stretch[match.last - 1]) else None
        if oil is not None:
            matches[place] = Match(oil, match.first, match.last)
        oily = oil is not None or match.term.words[-1] in _OIL_WORDS
        if place == 0 or not oily:
            continue
        oily = matches[place - 1].term.is_filler or item.in_oil
    return matches


def _as_free(stretch: Sequence[Token], matches: list[Match], matcher: Matcher) -> list[Match]:
    """ "Gluten free organic oats" are gluten-free oats, where the lexicon knows the two apart."""
    for place, match in enumerate(matches):
        if match.term.words == _GLUTEN and match.last < len(stretch) and stretch[match.last].word == "free":
            told = [(later, matcher.term("gluten", "free", *later.term.words)) for later in matches[place + 1 :]]
            matches[place + 1 :] = [Match(term or later.term, later.first, later.last) for later, term in told]
            return matches
    return matches


def _is_singular(token: Token) -> bool:
    return token.end - token.start == len(token.word)


def _next_word_is_oil(item: Item, number: int) -> bool:
    following = item.stretches[number + 1] if number + 1 < len(item.stretches) else []
    return bool(following) and following[0].word in _OIL_WORDS
