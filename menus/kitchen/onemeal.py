"""Two foods that may not meet, in two dishes of one meal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from menus.kitchen.recipes import Pieces
from menus.kitchen.things import origin
from menus.labels.concerning import concerning, words_of
from menus.labels.evidence import ANY, LEVEL_OF_KIND, Evidence, Kind, Level
from menus.substances.catalogue import Catalogue
from menus.substances.combinations import Combination, Side

AS_INGREDIENT = frozenset(
    {kind for kind, level in LEVEL_OF_KIND.items() if level is Level.PRESENT}
    | {Kind.GROUP, Kind.USUAL, Kind.NEAR_MISS, Kind.ONCE_MEMBER}
) - frozenset({Kind.TOGETHER})
"""What says that a side is in a dish as an ingredient, or leaves that in doubt. Traces do not make a meal of two."""


def at_one_meal(
    combination: Combination, dishes: Mapping[int, Pieces], names: Mapping[int, str]
) -> dict[int, tuple[Evidence, ...]]:
    """Return for each dish, by number, what the others of its meal add: one piece for each that holds the other side.

    A dish of which something is unread may hold it. A dish that holds both sides counts for the others all the same, so
    that more in one dish is never milder for another.
    """
    return {number: tuple(_beside(combination, number, dishes, names)) for number in dishes}


def _beside(
    combination: Combination, number: int, dishes: Mapping[int, Pieces], names: Mapping[int, str]
) -> Iterator[Evidence]:
    for own, opposite in combination.sides:
        held = _surest(own, dishes[number])
        if held is None:
            continue
        for other in sorted(set(dishes) - {number}):
            if said := _said(opposite, dishes[other], names[other]):
                yield Evidence(
                    combination.code,
                    Kind.SAME_MEAL,
                    span=held.span,
                    term=f"“{words_of(held)}”, and {said}",
                    source=held.source,
                    verified=held.verified,
                    path=held.path,
                )


def _said(side: Side, pieces: Pieces, name: str) -> str:
    """Say of a dish that it holds the side, or may; nothing when it does not."""
    held = _surest(side, pieces)
    if held is not None:
        holds = "holds" if held.level is Level.PRESENT else "may hold"
        return f"“{name}” {holds} {side.name} (“{words_of(held)}”)"
    unread = any(piece.substance == ANY and origin(piece) == piece.path for piece in pieces)
    return f"“{name}” may hold {side.name}, since not all of it was read" if unread else ""


def _surest(side: Side, pieces: Iterable[Evidence]) -> Evidence | None:
    """The piece that says it most surely; among several always the same one, in whatever order they come."""
    known = [piece for piece in pieces if piece.substance != ANY]
    found = (piece for code in side.substances for piece in concerning(code, known, Catalogue.load()))
    return min(
        (piece for piece in found if piece.kind in AS_INGREDIENT),
        key=lambda piece: (-piece.level, repr(piece)),
        default=None,
    )
