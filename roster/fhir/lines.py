"""What the entries of a file of health records come to, line by line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import groupby
from operator import attrgetter

from roster.fhir.noted import Noted
from roster.fhir.patients import Match
from roster.models import Child, Finding, Restriction

BEGINS, ENDS = "Not to be given: ", ", as a health record names it. Ask licensed staff what that means before serving."
TOLD = f"{BEGINS}“{{words}}”{ENDS}"
MOST_WORDS = 90
"""So that what is told fits on the list of a class."""

URGENT = {"high": 0}


@dataclass(frozen=True, slots=True)
class Line:
    """One entry, and what it comes to. `adds`, `told` are written when the file is taken over; `offered` if ticked."""

    place: str
    finding: Finding
    words: str
    said: str  # what it comes to, in a sentence
    entry: Noted | None = None
    child: Child | None = None
    adds: tuple[str, ...] = ()
    told: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()  # on record already, at least as strictly
    offered: tuple[str, ...] = ()
    ends: tuple[Restriction, ...] = ()  # what it proposes to end
    to_confirm: bool = False

    @property
    def needs_eyes(self) -> bool:
        """Whether it stays open until somebody has seen to it."""
        return self.finding in {Finding.END, Finding.REVIEW, Finding.UNMATCHED, Finding.UNREADABLE} or self.to_confirm


@dataclass(frozen=True, slots=True)
class Plan:
    """All that a file comes to, patient by patient."""

    matches: tuple[Match, ...]
    lines: tuple[Line, ...]
    left: Mapping[str, int] = field(default_factory=dict)  # kinds of resource that were not looked at

    def of(self, patient: str) -> list[Line]:
        """The lines about one patient, the gravest first."""
        mine = [line for line in self.lines if line.entry and line.entry.patient == patient]
        order = list(Finding)
        return sorted(mine, key=lambda line: (order.index(line.finding), URGENT.get(_criticality(line), 1)))

    @property
    def unread(self) -> list[Line]:
        """The lines about no patient."""
        return [line for line in self.lines if line.entry is None]

    @property
    def counts(self) -> list[tuple[Finding, int]]:
        """How many entries came to what."""
        ranked = sorted(self.lines, key=lambda line: list(Finding).index(line.finding))
        return [(finding, len(list(lines))) for finding, lines in groupby(ranked, key=attrgetter("finding"))]

    @property
    def adds_something(self) -> bool:
        """Whether taking it over would protect anybody more than now."""
        return any(line.adds or line.told for line in self.lines)


def words_told(told: str) -> str:
    """Return what a record names, out of what is told about it."""
    return told.removeprefix(BEGINS).removesuffix(ENDS)


def _criticality(line: Line) -> str:
    return line.entry.criticality if line.entry else ""
