"""What of a piece of evidence decides an outcome: everything but the way on which it came."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from compliance.checks.bulk.codes import MOST_ATOMS
from menus.labels.evidence import Evidence, Kind, Step


class TooMany(Exception):
    """More different pieces of evidence than a verdict's number can name."""


@dataclass(frozen=True, slots=True)
class Atom:
    """A substance, a kind, and what an allowance may ask for: the lexicon's phrase and the labels on the way."""

    substance: str
    kind: Kind
    term: str
    labels: tuple[str, ...]  # ids of label versions, sorted

    @property
    def evidence(self) -> Evidence:
        """A piece of evidence that is judged as every piece with this atom is."""
        path = tuple(Step("label", label, "") for label in self.labels)
        return Evidence(self.substance, self.kind, term=self.term, path=path)


def atom_of(piece: Evidence) -> Atom:
    """Return what of the piece decides."""
    labels = {step.ref for step in piece.path if step.kind == "label"}
    return Atom(piece.substance, piece.kind, piece.term, tuple(sorted(labels)))


_Key = tuple[str, Kind, str, tuple[str, ...]]


def _key(piece: Evidence) -> _Key:
    return (piece.substance, piece.kind, piece.term, tuple(step.ref for step in piece.path if step.kind == "label"))


class Atoms:
    """Atoms by number, from 1 on: 0 stands for what no single piece says."""

    def __init__(self) -> None:
        self._numbers: dict[Atom, int] = {}
        self._seen: dict[_Key, int] = {}  # spares making an atom of every piece

    def __len__(self) -> int:
        return len(self._numbers)

    def __iter__(self) -> Iterator[Atom]:
        return iter(self._numbers)

    def each(self, pieces: Iterable[Evidence]) -> list[int]:
        """Return the number of each piece's atom. Raises TooMany."""
        return [self._seen.get(key) or self._see(key, piece) for piece in pieces for key in (_key(piece),)]

    def of(self, pieces: Iterable[Evidence]) -> list[int]:
        """Return the numbers of the pieces' atoms, each once, in order. Raises TooMany."""
        return sorted(set(self.each(pieces)))

    def _see(self, key: _Key, piece: Evidence) -> int:
        number = self._seen[key] = self._number(atom_of(piece))
        return number

    def _number(self, atom: Atom) -> int:
        number = self._numbers.setdefault(atom, len(self._numbers) + 1)
        if number >= MOST_ATOMS:
            raise TooMany(f"More than {MOST_ATOMS:,} different pieces of evidence at once: check fewer sites together.")
        return number
