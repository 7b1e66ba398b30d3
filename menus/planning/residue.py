"""What a dish leaves on what it touches, told apart as the kitchen's engine tells it apart."""

from __future__ import annotations

from collections.abc import Iterable

from menus.kitchen.recipes import Pieces
from menus.kitchen.things import origin
from menus.labels.evidence import STANDING, Evidence, Level, Step

Residue = tuple[str, ...]
"""A substance with the label that names it; what is still a question also with its kind and all of its origin."""


def residue(piece: Evidence) -> Residue:
    """Return what this piece of evidence leaves behind, wherever it has been carried since.

    Pieces stay apart where licensed staff may decide about one and not about the other.
    """
    if piece.level is Level.UNREAD or piece.kind in STANDING:
        return (piece.substance, piece.kind.value, *(f"{step.kind} {step.ref}" for step in origin(piece)))
    return (piece.substance, *(step.ref for step in piece.path if step.kind == "label"))


def residues(pieces: Iterable[Evidence]) -> frozenset[Residue]:
    """Return everything that these pieces leave behind."""
    return frozenset(map(residue, pieces))


def carried(before: Pieces, after: Pieces) -> frozenset[Residue]:
    """Return what the order of work brought to a dish: `before` it was prepared, and `after`."""
    own = set(before)
    return residues(piece for piece in after if piece not in own)


def source(piece: Evidence) -> tuple[str, tuple[Step, ...]]:
    """Return which substance of which food this is: what tells a dish's own from what others bring."""
    return piece.substance, origin(piece)
