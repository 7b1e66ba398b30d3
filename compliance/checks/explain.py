"""Why a dish is what it is for a restriction type: worked out by the rules when somebody looks."""

from __future__ import annotations

from functools import lru_cache

from compliance.checks.packed import unpacked
from compliance.checks.reasons import Reason, reason_of
from compliance.models import PreparedDish, RestrictionTypeRow
from compliance.rules.judge import judge
from compliance.rules.values import RestrictionType, Scope, Strictness
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import Kind


def reasons_of(dish: PreparedDish, kind: RestrictionTypeRow) -> tuple[Reason, ...]:
    """Return every reason of the verdict on the dish for that type, the gravest first, those allowed last."""
    return _reasons(bytes(dish.evidence), type_of(kind))


def reasons_for(pieces: Pieces, kind: RestrictionType) -> tuple[Reason, ...]:
    """Return the same of a dish with these pieces."""
    return tuple(map(reason_of, judge(kind, pieces).findings))


def pieces_of(dish: PreparedDish) -> Pieces:
    """Return the evidence of a stored dish."""
    return _pieces(bytes(dish.evidence))


def type_of(row: RestrictionTypeRow) -> RestrictionType:
    """Return a stored restriction type."""
    scopes = (Scope(Kind(kind), about, label, term) for kind, about, label, term in row.allowed)
    return RestrictionType(row.substance, Strictness(row.strictness), tuple(sorted(scopes)))


# What is stored of a dish never changes, so that a page opened again, or by the next person, costs nothing.


@lru_cache(maxsize=512)
def _pieces(evidence: bytes) -> Pieces:
    return unpacked(evidence)


@lru_cache(maxsize=2048)
def _reasons(evidence: bytes, kind: RestrictionType) -> tuple[Reason, ...]:
    return reasons_for(_pieces(evidence), kind)
