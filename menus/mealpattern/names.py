"""Find the foods of the choking list in a name or in one item of an ingredient list."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from menus.mealpattern.forms import Said, cut_forms, head_form, is_filler, last_head
from menus.mealpattern.hazards import Hazard, hazards, silent_phrases
from menus.mealpattern.tokens import Mark, Token, tokenise

_LONGEST = 5
_REACH = 2  # how many words after a name its head may come: "peanut *cooking oil*"
_DENIALS = frozenset({"no", "without", "non"})


@dataclass(frozen=True, slots=True)
class Named:
    """A hazard named in a text: where, in which form, and whether the name itself says the risky form."""

    hazard: Hazard
    words: str
    said: Said
    form_said: bool
    turned: bool  # into juice, flour, flavouring …, or said to be absent


@dataclass(frozen=True, slots=True)
class _Entry:
    hazard: Hazard
    form_said: bool
    alone: bool


@cache
def _phrases() -> dict[tuple[str, ...], tuple[_Entry, ...]]:
    """All phrases with what they stand for; those of other foods stand for nothing, and hide what is inside them."""
    table: dict[tuple[str, ...], tuple[_Entry, ...]] = dict.fromkeys(silent_phrases(), ())
    for hazard in hazards():
        for names, form_said, alone in (
            (hazard.words, False, False),
            (hazard.as_served, True, False),
            (hazard.alone, False, True),
        ):
            for name in names:
                table[name] = (*table.get(name, ()), _Entry(hazard, form_said, alone))
    return table


def find(text: str, *, in_list: bool = False) -> Iterator[Named]:
    """Yield the hazards that a text names, from left to right, the longest phrase first.

    With `in_list` the text is one item of an ingredient list, where fewer names count.
    """
    tokens = tokenise(text)
    place = 0
    while place < len(tokens):
        length, entries = _longest(tokens, place)
        for entry in entries:
            if in_list and (entry.alone or not (entry.form_said or entry.hazard.in_list)):
                continue
            if found := _named(text, tokens, place, place + length, entry):
                yield found
        place += length or 1


def _longest(tokens: Sequence[Token], place: int) -> tuple[int, tuple[_Entry, ...]]:
    table = _phrases()
    for length in range(min(_LONGEST, len(tokens) - place), 0, -1):
        words = tuple(token.word for token in tokens[place : place + length])
        if words in table:
            return length, table[words]
    return 0, ()


def _named(text: str, tokens: Sequence[Token], first: int, last: int, entry: _Entry) -> Named | None:
    left, right = _around(tokens, first, last)
    if entry.alone and not (_is_edge(tokens, left - 1) and _is_edge(tokens, right)):
        return None
    behind = [*tokens[last:right], *_after(tokens, right)]
    return Named(
        hazard=entry.hazard,
        words=text[tokens[first].start : tokens[last - 1].end],
        said=_choice(tokens, left) | cut_forms(tokens[left:first]) | cut_forms(behind),
        form_said=entry.form_said,
        turned=_is_turned(tokens, first, last, entry.hazard),
    )


def _around(tokens: Sequence[Token], first: int, last: int) -> tuple[int, int]:
    """Widen a name over the words beside it that say form, size or freshness only."""
    left, right = first, last
    while left > 0 and is_filler(tokens[left - 1 : first]):
        left -= 1
    while right < len(tokens) and is_filler(tokens[last : right + 1]):
        right += 1
    return left, right


def _choice(tokens: Sequence[Token], left: int) -> Said:
    """A form before "or" leaves it open which is meant: "halved or quartered grapes"."""
    choice = left > 1 and tokens[left - 1].word == "or" and is_filler(tokens[left - 2 : left - 1])
    return Said(open=choice)


def _is_edge(tokens: Sequence[Token], place: int) -> bool:
    return not 0 <= place < len(tokens) or tokens[place].mark is not Mark.WORD


def _after(tokens: Sequence[Token], right: int) -> list[Token]:
    """What follows after a comma or in brackets, as long as it speaks of form only: "grapes, seedless, quartered"."""
    found: list[Token] = []
    while right < len(tokens) and tokens[right].mark is Mark.BREAK:
        end = right + 1
        while end < len(tokens) and tokens[end].mark is Mark.WORD:
            end += 1
        if not is_filler(tokens[right + 1 : end]):
            break
        found.extend(tokens[right + 1 : end])
        right = end
    return found


def _is_turned(tokens: Sequence[Token], first: int, last: int, hazard: Hazard) -> bool:
    if first and tokens[first - 1].word in _DENIALS:
        return True
    if tokens[last - 1].plural:
        return False  # a word before its head stands in the singular: "grape juice"; "grapes, juice" are two things
    if first and tokens[first - 1].mark is Mark.BREAK and last_head(tokens) in hazard.turned_by:
        return True  # "yogurt, strawberry"
    for place in range(last, min(last + _REACH, len(tokens))):
        if tokens[place].mark is not Mark.WORD:
            return False
        if form := head_form(tokens, place):
            return form in hazard.turned_by
    return False
