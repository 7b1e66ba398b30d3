"""Where a label contradicts itself: its declaration, its ingredients, its claims.

Evidence of a contradiction stands beside the piece that says the substance is there, never in its place: it makes
nothing milder and raises no alarm of its own, but tells that this label is not to be relied on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from menus.labels.claims import Claim
from menus.labels.context import Context
from menus.labels.evidence import ANY, CERTAIN, Evidence, Kind, Part
from menus.substances.catalogue import Catalogue


@dataclass(frozen=True, slots=True)
class Told:
    """What the parts of the label tell as a whole."""

    accounts: frozenset[str]  # all that the ingredients named may hold; ANY where a word was not read
    declared: frozenset[str]  # what the declaration names


def contradictions(
    pieces: Sequence[Evidence], claims: Sequence[Claim], told: Told, context: Context
) -> Iterator[Evidence]:
    """Every contradiction, once for a substance."""
    declared = _first_by_substance(piece for piece in pieces if piece.kind is Kind.DECLARED)
    listed = _first_by_substance(piece for piece in pieces if piece.kind in CERTAIN - {Kind.DECLARED})
    owed = (told.declared | _supplied(declared.values())) & context.duty
    if owed and told.accounts:
        named = (piece for code, piece in declared.items() if code in owed)
        yield from _unaccounted(named, told.accounts, context.catalogue)
    if told.declared & context.duty and told.accounts:
        yield from _left_out(listed.values(), told.declared, context)
    if claims:
        yield from _contradicted([piece for piece in pieces if piece.kind in CERTAIN], claims, context.catalogue)


def _supplied(declared: Iterable[Evidence]) -> frozenset[str]:
    """What only the supplier's data declare. They need not be whole, so what they leave out is no contradiction."""
    return frozenset(piece.substance for piece in declared if piece.span and piece.span.part is Part.SUPPLIED)


def _unaccounted(declared: Iterable[Evidence], accounts: frozenset[str], catalogue: Catalogue) -> Iterator[Evidence]:
    """Declared, though no ingredient can hold it: one of the two is of another product, or is incomplete."""
    if ANY in accounts:
        return  # a word that was not read may be the one
    for piece in declared:
        holding = {piece.substance} | catalogue.carriers(piece.substance)
        if not holding & accounts and not _is_related(piece.substance, accounts, catalogue):
            yield _disagreement(piece)


def _left_out(listed: Iterable[Evidence], declared: frozenset[str], context: Context) -> Iterator[Evidence]:
    """An ingredient names what the law counts as an allergen, and the declaration does not."""
    for piece in listed:
        is_owed = piece.substance in context.duty
        if is_owed and not _is_related(piece.substance, declared, context.catalogue):
            yield _disagreement(piece)


def _contradicted(certain: Iterable[Evidence], claims: Sequence[Claim], catalogue: Catalogue) -> Iterator[Evidence]:
    told: set[str] = set()
    for piece in certain:
        if piece.substance in told:
            continue
        spoken = {piece.substance} | catalogue.ancestors(piece.substance)
        for claim in claims:
            if spoken.intersection(claim.denied) and _reaches(claim, piece):
                told.add(piece.substance)
                words = piece.span.words if piece.span else piece.term
                yield Evidence(
                    piece.substance, Kind.CLAIM_CONTRADICTED, claim.span, words, piece.source, piece.verified
                )
                break


def _reaches(claim: Claim, piece: Evidence) -> bool:
    if claim.reach is None or piece.span is None:
        return True
    return piece.span.part is claim.reach.part and claim.reach.start <= piece.span.start < claim.reach.end


def _is_related(code: str, others: frozenset[str], catalogue: Catalogue) -> bool:
    """Whether one of the others is it, its group or a member of it."""
    return bool(({code} | catalogue.ancestors(code) | catalogue.descendants(code)) & others)


def _disagreement(piece: Evidence) -> Evidence:
    return Evidence(piece.substance, Kind.DISAGREEMENT, piece.span, piece.term, piece.source, piece.verified)


def _first_by_substance(pieces: Iterable[Evidence]) -> dict[str, Evidence]:
    first: dict[str, Evidence] = {}
    for piece in pieces:
        first.setdefault(piece.substance, piece)
    return first
