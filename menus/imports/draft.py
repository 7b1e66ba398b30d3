"""A draft: what a file would do to the records, worked out without touching them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import groupby, islice
from typing import Any

from menus.imports.problem import Problem

Write = Callable[[Any], object]
"""Writes one step; takes the user who imports, or None."""

AT_ONCE = 1_000
"""Rows written together at most, so that neither memory nor the parameters of a query grow with the file."""


@dataclass(frozen=True, slots=True)
class InBulk:
    """A write that goes together with those of the same kind before and after it: thousands of rows in a few queries.

    `write_all` takes the rows of all of them, in their order, and the user who imports.
    """

    write_all: Callable[[list[Any], Any], object]
    row: Any

    def __call__(self, user: Any) -> object:
        return self.write_all([self.row], user)


class Action(StrEnum):
    """What a step does to its record."""

    CREATE = "create"
    CHANGE = "change"
    END = "end"


UNCHANGED = "unchanged"
VERBS = {Action.CREATE: "new", Action.CHANGE: "changed", Action.END: "ended"}


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that saving does. Two drafts say the same when their steps compare equal, so `detail` tells all."""

    action: Action
    noun: str  # "product", "label" …
    name: str
    detail: str
    write: Write = field(compare=False, repr=False)


@dataclass(slots=True)
class Draft:
    """Problems that stop the import, notes that do not, and the steps in the order in which they must be written."""

    problems: list[Problem] = field(default_factory=list)
    notes: list[Problem] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    tally: dict[str, Counter[str]] = field(default_factory=dict)  # what happens to how many, by noun
    told: dict[str, list[str]] = field(default_factory=dict)  # what it means to people, under headings
    afterwards: list[Write] = field(default_factory=list)  # kept beside the steps; changes no fact that is checked

    def refuse(self, row: int, field: str, what: str, mend: str, *, file: str = "") -> None:
        """List something that must be mended before anything is saved."""
        self.problems.append(Problem(row, field, what, mend, file))

    def note(self, row: int, field: str, what: str, mend: str = "", *, file: str = "") -> None:
        """List something that the person should know and that stops nothing."""
        self.notes.append(Problem(row, field, what, mend, file))

    def tell(self, heading: str, line: str) -> None:
        """Say what saving means to people, one line under a heading such as “Leaves”."""
        self.told.setdefault(heading, []).append(line)

    def step(self, action: Action, noun: str, name: str, detail: str, write: Write) -> None:
        """Add the next thing to write."""
        self.steps.append(Step(action, noun, name, detail, write))
        self._count(noun, VERBS[action])

    def keep(self, noun: str, times: int = 1) -> None:
        """Count records that stay as they are."""
        self._count(noun, UNCHANGED, times)

    def _count(self, noun: str, verb: str, times: int = 1) -> None:
        if times:
            self.tally.setdefault(noun, Counter())[verb] += times


def write_steps(steps: Iterable[Step], user: Any) -> None:
    """Write the steps in their order; those that may go together, and stand together, at once."""
    for write_all, together in groupby((step.write for step in steps), key=_in_bulk):
        if write_all is None:
            for write in together:
                write(user)
            continue
        while part := [write.row for write in islice(together, AT_ONCE) if isinstance(write, InBulk)]:
            write_all(part, user)


def _in_bulk(write: Write) -> Callable[[list[Any], Any], object] | None:
    return write.write_all if isinstance(write, InBulk) else None


def doubles(keys: Iterable[tuple[int, str]]) -> dict[int, int]:
    """Return, for each row whose key another row has too, the number of the first such other row."""
    rows: dict[str, list[int]] = {}
    for row, key in keys:
        rows.setdefault(key, []).append(row)
    return {row: same[1] if row == same[0] else same[0] for same in rows.values() if len(same) > 1 for row in same}
