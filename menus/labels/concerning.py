"""Which of a food's evidence bears on a restriction on one substance, and how hard."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from menus.labels.evidence import ANY, Evidence, Kind, Level
from menus.substances.catalogue import Catalogue


def concerning(code: str, pieces: Iterable[Evidence], catalogue: Catalogue) -> tuple[Evidence, ...]:
    """Return the pieces that bear on `code`, each as grave as it is for that substance.

    The substance itself or a member of it counts as it stands. A group named without this member leaves the member
    possible. What usually carries it makes it possible, and so does what left the legal group that it names. Evidence
    that could concern anything always counts. Raises UnknownSubstance for a code the catalogue does not hold.
    """
    return tuple(_bearing(code, pieces, catalogue))


def words_of(piece: Evidence) -> str:
    """Return the words that say it, or else what it is taken for."""
    return piece.span.words if piece.span else piece.term or Catalogue.load().get(piece.substance).name


def _bearing(code: str, pieces: Iterable[Evidence], catalogue: Catalogue) -> Iterator[Evidence]:
    exact = catalogue.descendants(code) | {code, ANY}
    groups = catalogue.ancestors(code)
    carriers = catalogue.carriers(code)
    once = catalogue.once_members(code)
    for piece in pieces:
        if piece.substance in exact:
            yield piece
        elif piece.substance in groups:
            yield _softened(piece, Kind.GROUP)
        elif piece.substance in carriers:
            yield _softened(piece, Kind.USUAL)
        elif piece.substance in once:
            yield replace(piece, kind=Kind.ONCE_MEMBER)


def _softened(piece: Evidence, kind: Kind) -> Evidence:
    return replace(piece, kind=kind) if piece.level is Level.PRESENT else piece
