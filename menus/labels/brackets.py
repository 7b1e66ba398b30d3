"""What brackets and headings tell about the words they belong to."""

from __future__ import annotations

from collections.abc import Sequence

from menus.labels.cues import Voice
from menus.labels.lexicon import Meaning
from menus.labels.phrases import ReadItem

_PARTIAL = frozenset({"contain", "may", "including", "include", "with"})
_SAYING = frozenset({Voice.INGREDIENT, Voice.DECLARED})
"""Brackets that warn, deny or ramble tell nothing of what the compound is made of."""
_CERTAIN = frozenset({Meaning.NAMED, Meaning.DERIVED})


def open_brackets(items: Sequence[ReadItem]) -> None:
    """Note on every item whether its brackets say what it is made of, and what they name.

    "natural flavor (contains milk)" names milk but does not say it all, so the flavour stays unopened.
    """
    by_item = {read.item: read for read in items}
    for read in items:
        if not (read.item.children or read.item.headed):
            continue
        below = [by_item[child] for child in (*read.item.children, *read.item.headed)]
        told = [other for other in below if other.voice is read.voice or other.voice in _SAYING]
        if told:
            read.is_opened = any(tells(other) for other in told)
            read.specified = frozenset[str]().union(*(certain_codes(other) for other in told))


def certain_codes(read: ReadItem) -> frozenset[str]:
    """The substances this item says are in the food."""
    return frozenset(
        code
        for phrase in read.phrases
        if not phrase.denied
        for entry in phrase.term.entries
        if entry.meaning in _CERTAIN
        for code in entry.substances
    )


def tells(read: ReadItem) -> bool:
    """Whether, standing in brackets, it says what the compound is made of: "contains milk" does not say it all."""
    if read.phrases and read.phrases[0].term.words[0] in _PARTIAL:
        return False
    return bool(read.unknown) or any(not phrase.term.is_filler for phrase in read.phrases)
