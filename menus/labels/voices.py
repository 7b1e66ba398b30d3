"""Who says it: how far a declaration, a precaution or a denial reaches along the list.

Labels run statements together. Each statement is cut off at the first item that cannot belong to it, always on the
side of caution: what a precaution or a denial does not clearly cover counts as an ingredient.
"""

from __future__ import annotations

from collections.abc import Sequence

from menus.labels.cues import PRECAUTIONS, Voice
from menus.labels.listing import Item
from menus.labels.phrases import ReadItem

_CONTAINS = ("contain",)
_PLACING = frozenset({"in", "on", "en"})
"""Short words a statement may open with: "in a facility that also handles…"."""


def settle(items: Sequence[ReadItem]) -> None:
    """Give every item the voice it is really said in."""
    runs: dict[tuple[Item | None, int], Voice] = {}
    for place, read in enumerate(items):
        if read.item.backward and not read.names_something:
            _reach_back(items, place)
            continue
        key = (read.item.parent, read.item.sentence)
        read.voice = runs[key] = _voice(read, runs.get(key))
        if _is_contains_heading(read):
            runs[key] = Voice.DECLARED
    _end_denials(items)


def _voice(read: ReadItem, before: Voice | None) -> Voice:
    voice = read.item.voice
    if _opens_declaration(read) or (before is Voice.DECLARED and voice is Voice.INGREDIENT and read.is_plain):
        return Voice.DECLARED if read.is_plain else voice
    if voice in PRECAUTIONS and not _starts_with_cue(read):
        runs_on = before is Voice.INGREDIENT or not (read.names_plainly or _says_nothing(read))
        return Voice.INGREDIENT if runs_on else voice
    if voice is Voice.DECLARED and before is Voice.INGREDIENT and not _starts_with_cue(read):
        return Voice.INGREDIENT
    return voice


def _starts_with_cue(read: ReadItem) -> bool:
    """Whether this item opens its statement: the words before any substance are the statement's own."""
    if not read.phrases or not read.phrases[0].term.is_filler:
        return False
    word = read.phrases[0].term.words[0]
    return len(word) > 2 or word in _PLACING


def _opens_declaration(read: ReadItem) -> bool:
    if read.item.voice is not Voice.INGREDIENT or not read.phrases:
        return False
    return read.phrases[0].term.words == _CONTAINS and read.names_something


def is_heard_beyond(read: ReadItem) -> bool:
    """Whether what it says turns what follows into a declaration."""
    return _is_contains_heading(read) or _opens_declaration(read)


def _is_contains_heading(read: ReadItem) -> bool:
    """ "Contains:" alone, with what it declares after its colon."""
    return read.item.is_heading and [phrase.term.words for phrase in read.phrases] == [_CONTAINS]


def _says_nothing(read: ReadItem) -> bool:
    return all(phrase.term.is_filler for phrase in read.phrases)


def _reach_back(items: Sequence[ReadItem], place: int) -> None:
    """ "Peanuts and milk may be present": the statement speaks of the plain names just before it."""
    spoken = items[place]
    for read in reversed(items[:place]):
        is_beside = read.item.sentence == spoken.item.sentence and read.item.parent is spoken.item.parent
        if not is_beside or not read.is_plain:
            return
        read.voice = spoken.item.voice


def _end_denials(items: Sequence[ReadItem]) -> None:
    """A denial holds for its first item, and for a list only when the whole sentence is nothing but plain names."""
    by_sentence: dict[tuple[Item | None, int], list[ReadItem]] = {}
    for read in items:
        if read.voice is Voice.FREE:
            by_sentence.setdefault((read.item.parent, read.item.sentence), []).append(read)
    for run in by_sentence.values():
        if all(read.is_plain and not read.item.children for read in run):
            continue
        for read in run[1:]:
            read.voice = Voice.INGREDIENT
        if not run[0].is_plain:
            run[0].voice = Voice.INGREDIENT
