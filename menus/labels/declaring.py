"""Which of a text's items are its declaration: a sentence of its own, not a "contains" in the middle of the list."""

from __future__ import annotations

from collections.abc import Sequence

from menus.labels.brackets import certain_codes
from menus.labels.cues import Voice
from menus.labels.phrases import ReadItem


def declared_codes(items: Sequence[ReadItem]) -> frozenset[str]:
    """The substances that sentences outside brackets declare from their first word on."""
    listing: set[int] = set()
    found: set[str] = set()
    for read in items:
        if read.item.parent is not None:
            continue
        sentence = read.item.sentence
        if read.voice is Voice.INGREDIENT and not read.is_mere_grammar:
            listing.add(sentence)
        elif read.voice is Voice.DECLARED and sentence not in listing:
            found |= certain_codes(read)
    return frozenset(found)
