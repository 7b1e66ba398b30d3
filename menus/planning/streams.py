"""Residue by where it comes from: what comes from the same dishes and surfaces takes the same ways."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from menus.kitchen.recipes import Pieces
from menus.planning.residue import residue, source
from menus.planning.work import Stake, Work


@dataclass(frozen=True, slots=True)
class Beginning:
    """What there is when the work begins: what lies on each surface, and what each dish holds by then."""

    surfaces: Mapping[int, Pieces]
    dishes: Mapping[int, Pieces]


@dataclass(frozen=True, slots=True)
class Stream:
    """The dishes that bring something along, and the surfaces on which it lies when the work begins."""

    sources: frozenset[int]
    lying: frozenset[int]


@dataclass(frozen=True)
class Streams:
    """What the stakes are about, one stream each.

    Whoever must not meet any of several residues is met by their streams together, so a stake needs only one.
    """

    work: Work
    beginning: Beginning

    @cached_property
    def by_stake(self) -> tuple[Stream, ...]:
        """The stream of every stake."""
        return tuple(self._stream(stake) for stake in self.work.stakes)

    @cached_property
    def all(self) -> tuple[Stream, ...]:
        """Every stream once, in a settled order."""
        return tuple(dict.fromkeys(self.by_stake))

    def _stream(self, stake: Stake) -> Stream:
        """The residues as others bring them: a dish's own, come back to it, is not carried over."""
        own = {source(piece) for piece in self.work.dishes[stake.dish]}

        def brings(pieces: Pieces) -> bool:
            return any(residue(piece) in stake.residues and source(piece) not in own for piece in pieces)

        touched = dict.fromkeys(step.dish for step in self.work.steps)
        return Stream(
            sources=frozenset(dish for dish in touched if brings(self.beginning.dishes[dish])),
            lying=frozenset(surface for surface, pieces in self.beginning.surfaces.items() if brings(pieces)),
        )
