"""What each atom means for each restriction type: judged once, by the rules themselves."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from compliance.checks.bulk.atoms import Atom, Atoms
from compliance.checks.bulk.codes import Codes, code_of
from compliance.rules.judge import judge
from compliance.rules.values import RestrictionType, Strictness
from menus.labels.evidence import Evidence, Kind


def matrix(atoms: Atoms, types: Sequence[RestrictionType]) -> Codes:
    """Return the code of every atom (row, 0 empty) for every type (column); of none of the types a combination.

    Of an atom without allowances only substance and kind decide, so few different ones are judged; types with
    allowances are judged where one of them may cover the atom.
    """
    known = list(atoms)
    found = np.zeros((len(known) + 1, len(types)), dtype=np.uint32)
    if not known or not types:
        return found
    found[1:] = _without_allowances(known, types)
    for column, kind in enumerate(types):
        for row in _concerned(kind, known):
            found[row + 1, column] = code_of(judge(kind, (known[row].evidence,)))
    numbers = np.arange(len(found), dtype=np.uint32)[:, np.newaxis]
    return np.where(found, found | numbers, found)


def _without_allowances(known: Sequence[Atom], types: Sequence[RestrictionType]) -> Codes:
    said = {pair: row for row, pair in enumerate(dict.fromkeys((atom.substance, atom.kind) for atom in known))}
    plain = {pair: column for column, pair in enumerate(dict.fromkeys((t.substance, t.strictness) for t in types))}
    small = np.array([[_plain(*pair, *asked) for asked in plain] for pair in said], dtype=np.uint32)
    rows = [said[atom.substance, atom.kind] for atom in known]
    columns = [plain[kind.substance, kind.strictness] for kind in types]
    taken: Codes = small[np.ix_(rows, columns)]
    return taken


@lru_cache(maxsize=1 << 16)
def _plain(substance: str, kind: Kind, avoided: str, strictness: Strictness) -> int:
    return code_of(judge(RestrictionType(avoided, strictness), (Evidence(substance, kind),)))


def _concerned(kind: RestrictionType, known: Sequence[Atom]) -> list[int]:
    """Rows of the atoms that an allowance of the type may cover, by their labels."""
    if not kind.allowed:
        return []
    labels = {scope.label for scope in kind.allowed}
    return [row for row, atom in enumerate(known) if "" in labels or not labels.isdisjoint(atom.labels)]
