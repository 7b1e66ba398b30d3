"""Words that name a maker or a make, not a food: they hide nothing where the food itself is named."""

from __future__ import annotations

from collections.abc import Sequence

from menus.labels.matcher import Match
from menus.labels.tokens import Token

_MAKES = frozenset({"brand"})


def makers(stretch: Sequence[Token], matches: Sequence[Match], unknown: Sequence[int]) -> set[int]:
    """Places of unknown words that own the food named next ("Lucy's chocolate chips") or stand before "brand"."""
    foods = {match.first for match in matches if not match.term.is_filler}
    names: set[int] = set()
    for place in reversed(unknown):
        following = place + 1
        owns = stretch[place].is_owner and following in foods
        is_make = following < len(stretch) and stretch[following].word in _MAKES
        if following in names or owns or is_make:
            names.add(place)
    return names
