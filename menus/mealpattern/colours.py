"""Which of the colors that balance asks for the vegetables or fruit of a name bring."""

from __future__ import annotations

from functools import cache

from menus.mealpattern.hazards import phrases, rows
from menus.mealpattern.tokens import Mark, tokenise

COLOURS = ("orange", "green", "red")


def colours_of(name: str) -> frozenset[str]:
    """Return the colors that a name tells of, by its longest phrases: empty where it tells of none.

    “Green beans” are green, “green bean casserole” too, “chickpeas” are not. Every food of a name counts: “peas and
    carrots” are green and orange.
    """
    words = [token.word if token.mark is Mark.WORD else "" for token in tokenise(name)]
    found: set[str] = set()
    place = 0
    while place < len(words):
        length, colour = _longest(words, place)
        found |= {colour} if colour else set()
        place += length or 1
    return frozenset(found)


def _longest(words: list[str], place: int) -> tuple[int, str]:
    table = _table()
    for length in range(min(_most_words(), len(words) - place), 0, -1):
        phrase = tuple(words[place : place + length])
        if phrase in table:
            return length, table[phrase]
    return 0, ""


@cache
def _table() -> dict[tuple[str, ...], str]:
    """Phrases with their color; those of other foods have none, and hide what stands inside them."""
    listed = tuple(rows("food_colours.csv"))
    table = {phrase: "" for row in listed for phrase in phrases(row["not_words"])}
    return table | {phrase: row["colour"] for row in listed for phrase in phrases(row["words"])}


@cache
def _most_words() -> int:
    return max(map(len, _table()))
