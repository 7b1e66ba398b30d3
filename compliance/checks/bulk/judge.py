"""Judge many dishes for many restriction types."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from compliance.checks.bulk.atoms import Atoms
from compliance.checks.bulk.codes import Codes, code_of
from compliance.checks.bulk.matrix import matrix
from compliance.rules.judge import judge
from compliance.rules.values import RestrictionType
from menus.kitchen.recipes import Pieces
from menus.substances.combinations import combinations

AT_ONCE = 1 << 24
"""So many numbers are looked at together, at most: what bounds the memory."""


def judge_many(
    dishes: Sequence[Pieces],
    types: Sequence[RestrictionType],
    atoms: Atoms | None = None,
    held: Sequence[Sequence[int]] | None = None,
) -> Codes:
    """Return the verdict of every dish (row) for every type (column) as a code.

    Outcome, main rule and whether there is anything to say are those of `judge`. `atoms` takes in what the numbers in
    the codes stand for; `held`, where it is known already, says which of them each dish holds. A combination is not the
    gravest of its parts, so it is judged dish by dish.
    """
    known = Atoms() if atoms is None else atoms
    inside = [known.of(pieces) for pieces in dishes] if held is None else held
    single = [column for column, kind in enumerate(types) if kind.substance not in combinations()]
    found = np.zeros((len(dishes), len(types)), dtype=np.uint32)
    found[:, single] = _gravest(inside, matrix(known, [types[column] for column in single]))
    for column in sorted(set(range(len(types))) - set(single)):
        found[:, column] = [code_of(judge(types[column], pieces)) for pieces in dishes]
    return found


def _gravest(held: Sequence[Sequence[int]], meanings: Codes) -> Codes:
    """Return for each dish the maximum over its atoms, some dishes at a time; of a dish without any, zero."""
    found = np.zeros((len(held), meanings.shape[1]), dtype=np.uint32)
    if not meanings.shape[1]:
        return found
    most = max(1, AT_ONCE // meanings.shape[1])
    begin = 0
    while begin < len(held):
        end, size = begin, 0
        while end < len(held) and (end == begin or size + len(held[end]) < most):
            size += len(held[end]) + 1
            end += 1
        # The empty row 0 before each: reduceat knows no empty stretch.
        rows = [number for atoms in held[begin:end] for number in (0, *atoms)]
        starts = np.cumsum([0, *(len(atoms) + 1 for atoms in held[begin : end - 1])])
        found[begin:end] = np.maximum.reduceat(meanings[rows], starts, axis=0)
        begin = end
    return found
