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
_COMPOUNDS = frozenset(
    {
        "bar", "base", "beverage", "bit", "blend", "candy", "chip", "cluster", "coating", "complex", "component",
        "crisp", "culture", "dressing", "drink", "filling", "frosting", "glaze", "icing", "jam", "kit", "mix",
        "mixture", "pack", "piece", "product", "rub", "salsa", "sauce", "seasoning", "snack", "soup", "sweetener",
        "system", "topping",
    }
)  # fmt: skip
"""What a food put together from others is called."""


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
        if read.unknown and sum(tells(other) for other in told) > 1:
            _lay_open(read)


def _lay_open(read: ReadItem) -> None:
    """A strange word before the name of a food whose brackets list what it is made of is no ingredient.

    By 21 CFR 101.4(b)(2) those brackets hold every ingredient. The food must be named: "zander (water, salt)" and
    "zander fillets (water, salt)" are a strange fish in brine, "zander seasoning (pepper, salt)" is a seasoning.
    """
    heads = (
        phrase.start
        for phrase in read.phrases
        if phrase.stretch == 0 and (not phrase.term.is_silent or phrase.term.words[-1] in _COMPOUNDS)
    )
    head = max(heads, default=-1)
    read.unknown = [token for token in read.unknown if token.start > head]


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
    return bool(read.unknown or read.slips) or any(not phrase.term.is_filler for phrase in read.phrases)
