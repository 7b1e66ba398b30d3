"""Carry allergens from dish to dish over the surfaces they share, in the order in which things happen.

One pass over the events in time order; the work grows with events times the substances that are really there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from operator import attrgetter

from menus.kitchen.cleaning import removes
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Evidence, Kind, Level, Step


@dataclass(frozen=True, slots=True)
class SurfaceFacts:
    """A thing that food touches, and what it is made of."""

    id: int
    name: str
    material: str

    @property
    def step(self) -> Step:
        """This surface as a link of a chain."""
        return Step("surface", str(self.id), self.name)


@dataclass(frozen=True, slots=True)
class Use:
    """A dish touches a surface."""

    at: datetime
    surface: int
    dish: int


@dataclass(frozen=True, slots=True)
class Clean:
    """A surface is cleaned by a method of the table."""

    at: datetime
    surface: int
    method: str


Thing = tuple[str, str, tuple[Step, ...]]
"""What lies on a surface: a substance, or something unread, told by its kind and by where it came from."""

Residue = dict[Thing, Evidence]  # the piece that left it, one chain each


def carry_over(
    events: Iterable[Use | Clean], surfaces: Mapping[int, SurfaceFacts], dishes: Mapping[int, Pieces]
) -> dict[int, Pieces]:
    """Return every dish's evidence with what the order of work carries over to it.

    A residue ends only with a cleaning that removes allergens from that material and stands *between* two uses: a
    cleaning at the very minute of a use of the same surface counts for nothing, and two dishes on one surface at the
    same minute each touch the other. Nothing that happens later changes an earlier dish.
    Raises UnknownMethod for a cleaning method that is not in the table.
    """
    residues: dict[int, Residue] = {surface: {} for surface in surfaces}
    result = {dish: list(pieces) for dish, pieces in dishes.items()}
    for _, moment in groupby(sorted(events, key=attrgetter("at")), key=attrgetter("at")):
        together = list(moment)
        used = {event.surface for event in together if isinstance(event, Use)}
        for event in together:
            if isinstance(event, Clean) and _works(event, surfaces) and event.surface not in used:
                residues[event.surface].clear()
        _touch([event for event in together if isinstance(event, Use)], surfaces, residues, result)
    return {dish: tuple(dict.fromkeys(pieces)) for dish, pieces in result.items()}


def _works(event: Clean, surfaces: Mapping[int, SurfaceFacts]) -> bool:
    return removes(event.method, surfaces[event.surface].material)


def _touch(
    uses: list[Use],
    surfaces: Mapping[int, SurfaceFacts],
    residues: dict[int, Residue],
    result: dict[int, list[Evidence]],
) -> None:
    left = {(use.surface, use.dish): _left_by(result[use.dish]) for use in uses if use.dish in result}
    for use in uses:
        if use.dish not in result:
            continue
        surface = surfaces[use.surface]
        others = [left[key] for key in left if key[0] == use.surface and key[1] != use.dish]
        for residue in [residues[use.surface], *others]:
            result[use.dish].extend(_arrived(residue, surface, result[use.dish]))
    for use in uses:
        if use.dish in result:
            # What the dish picked up a moment ago is left on the surface too.
            residues[use.surface] = _left_by(result[use.dish]) | residues[use.surface]


def _left_by(pieces: Iterable[Evidence]) -> Residue:
    """One piece for each thing, the surest; what is carried on is no surer than possible."""
    residue: Residue = {}
    for piece in pieces:
        thing = _thing(piece)
        if thing not in residue or residue[thing].level < piece.level:
            residue[thing] = piece
    return residue


def _thing(piece: Evidence) -> Thing:
    if piece.level is not Level.UNREAD:
        return (piece.substance, "", ())
    # Two unread labels are two unknowns: licensed staff may settle one of them and not the other.
    return (piece.substance, piece.kind, tuple(step for step in piece.path if step.kind != "surface"))


def _arrived(residue: Residue, surface: SurfaceFacts, pieces: list[Evidence]) -> list[Evidence]:
    own = {piece.path for piece in pieces}
    return [
        # Something unread leaves something unread behind: it does not become a known substance on the way.
        replace(
            piece,
            kind=piece.kind if piece.level is Level.UNREAD else Kind.CARRY_OVER,
            term=piece.path[0].name if piece.path and piece.kind is not Kind.CARRY_OVER else piece.term,
            path=(*piece.path, surface.step),
        )
        for piece in residue.values()
        if piece.path not in own
    ]
