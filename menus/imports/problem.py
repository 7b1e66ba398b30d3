"""What is wrong in a file somebody gave us, where it stands, and how to mend it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend. Rows are counted as a spreadsheet counts them, the header being row 1; 0 is the whole file."""

    row: int
    field: str
    what: str
    mend: str
    file: str = ""  # set where an import takes several files

    def __str__(self) -> str:
        row = f"row {self.row}" if self.file else f"Row {self.row}"
        place = ", ".join(part for part in (self.file, row if self.row else "", self.field) if part)
        return f"{place}: {self.what} {self.mend}".removeprefix(": ").strip()


def counted(problems: Sequence[Problem]) -> str:
    """Return “1 problem. Mend it” or “3 problems. Mend them”."""
    return "1 problem. Mend it" if len(problems) == 1 else f"{len(problems):,} problems. Mend them"


class Unreadable(Exception):
    """The file as a whole cannot be taken; `problem` says why."""

    def __init__(self, what: str, mend: str, *, row: int = 0, field: str = "", file: str = "") -> None:
        self.problem = Problem(row, field, what, mend, file)
        super().__init__(str(self.problem))
