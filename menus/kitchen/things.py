"""What a dish leaves behind, piece by piece of its evidence, and what becomes of a piece on the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from menus.kitchen.events import How
from menus.kitchen.recipes import Pieces
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.trace import Link
from menus.labels.evidence import STANDING, Evidence, Kind, Level, Step

ARRIVES_AS = {How.TOUCH: Kind.CARRY_OVER, How.AIR: Kind.AIRBORNE, How.NEAR: Kind.NEARBY}
CAME_BY = {kind: how for how, kind in ARRIVES_AS.items()}
ON_THE_WAY = frozenset({"at", "surface", "dish"})
"""Kinds of the steps that the kitchen adds to a chain: when, where, and by which other dish."""


def leaves(pieces: Iterable[Evidence]) -> Pieces:
    """Return what a dish leaves on what it touches: of the pieces of one question, the surest."""
    left: dict[tuple[object, ...], Evidence] = {}
    for piece in pieces:
        thing = question(piece)
        if thing not in left or left[thing].level < piece.level:
            left[thing] = piece
    return tuple(left.values())


def arrived(piece: Evidence, how: How, steps: Iterable[Step]) -> Evidence:
    """Return the piece as it comes to another dish over these steps.

    A doubt is no greater and no smaller for being carried, so it keeps its kind, and with it the answers that it has:
    what nobody read stays unread, and what may derive from milk does not become milk on the way.
    """
    path = (*piece.path, *steps)
    if _stays_a_question(piece):
        return replace(piece, path=path)
    source = piece.path[0].name if piece.path and piece.kind not in CAME_BY else piece.term
    weaker = max(how, CAME_BY.get(piece.kind, How.TOUCH))
    return replace(piece, kind=ARRIVES_AS[weaker], term=source, path=path)


def origin(piece: Evidence) -> tuple[Step, ...]:
    """Return the chain of a piece without what the kitchen added to it."""
    return tuple(step for step in piece.path if step.kind not in ON_THE_WAY)


def question(piece: Evidence) -> tuple[object, ...]:
    """Return what an answer of licensed staff can tell this piece by; pieces of one question stand or fall together."""
    if piece.level is Level.UNREAD:
        return (piece.substance, piece.kind, origin(piece))
    label = tuple(step.ref for step in piece.path if step.kind == "label")
    if piece.kind in STANDING:
        return (piece.substance, label, piece.kind, piece.term)
    return (piece.substance, label)


def steps(chain: Sequence[Link], surfaces: Mapping[int, SurfaceFacts], names: Mapping[int, str]) -> Iterator[Step]:
    """Yield a chain as steps: when and where, and before it which other dish brought it on.

    A time of the day on which it arrived is told without the date.
    """
    for number, link in enumerate(chain):
        if number and link.dish is not None and names.get(link.dish):
            yield Step("dish", "", names[link.dish])
        at = _told(link.at, chain[-1].taken)
        yield Step("at", at, at)
        yield surfaces[link.surface].step


def way(piece: Evidence) -> str:
    """Return in words where and when a piece was carried, as in “on Knife at 09:00, by “Bread” on Board at 09:05”."""
    told: list[str] = []
    at = by = ""
    for step in piece.path:
        match step.kind:
            case "dish":
                by = f"by “{step.name}” "
            case "at":
                at = f" at {step.name}"
            case "surface":
                told.append(f"{by}on {step.name}{at}")
                at = by = ""
    return ", ".join(told)


def _stays_a_question(piece: Evidence) -> bool:
    return piece.level is Level.UNREAD or piece.kind in STANDING


def _told(at: datetime, arrival: datetime) -> str:
    return f"{at:%H:%M}" if at.date() == arrival.date() else f"{at:%Y-%m-%d %H:%M}"
