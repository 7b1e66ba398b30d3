"""Spreads that stand in for peanut butter: they look like it, and a room decides by product whether they may come."""

from __future__ import annotations

from functools import cache

from menus.mealpattern.hazards import phrases, rows
from menus.mealpattern.tokens import Mark, tokenise


def spread_in(name: str) -> str:
    """Return which spread in place of peanut butter a name tells of, such as “a seed butter”; empty for none.

    “Sunflower seed butter” is one, “butternut squash”, “seeds and butter” and peanut butter itself are none.
    """
    words = [token.word if token.mark is Mark.WORD else "" for token in tokenise(name)]
    table = _table()
    for length in range(max(map(len, table)), 0, -1):
        for place in range(len(words) - length + 1):
            if what := table.get(tuple(words[place : place + length])):
                return what
    return ""


@cache
def _table() -> dict[tuple[str, ...], str]:
    return {phrase: row["what"] for row in rows("spreads.csv") for phrase in phrases(row["words"])}
