"""Where a supplier's rows say two things of one allergen. The graver counts; that they differ is told beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from menus.labels.claims import Claim
from menus.labels.evidence import Evidence, Kind
from menus.substances.catalogue import Catalogue


def conflicts(pieces: Sequence[Evidence], claims: Sequence[Claim], catalogue: Catalogue) -> list[Evidence]:
    """Every disagreement between rows but one: “contains” against “free from” is a claim that the label contradicts,
    and found where all such claims are.
    """
    certain = {piece.substance for piece in pieces if piece.kind is Kind.DECLARED}
    doubtful = [piece for piece in pieces if piece.kind is Kind.MAY_CONTAIN]
    return [
        *(replace(piece, kind=Kind.DISAGREEMENT) for piece in doubtful if piece.substance in certain),
        *_denied([piece for piece in doubtful if piece.substance not in certain], claims, catalogue),
    ]


def _denied(doubtful: Sequence[Evidence], claims: Sequence[Claim], catalogue: Catalogue) -> Iterator[Evidence]:
    """Data that says both “may contain” and “free from” are not understood, on this substance: somebody has to ask."""
    for piece in doubtful:
        spoken = {piece.substance} | catalogue.ancestors(piece.substance)
        for claim in claims:
            if spoken.intersection(claim.denied):
                yield replace(piece, kind=Kind.UNREAD_WORD, span=claim.span)
