"""What keeps a row of a supplier's data from being read, said so that whoever typed it can mend it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from menus.labels.supplied.codes import NONE_DECLARED, allergen_codes, is_code, likely_code
from menus.labels.supplied.levels import levels
from menus.labels.supplied.rows import Row, cut


@dataclass(frozen=True, slots=True)
class Fault:
    """One row that is not read, or not wholly. `is_grave`: a slip of the pen, and no code that GS1 may have added."""

    what: str
    mend: str
    is_grave: bool

    def __str__(self) -> str:
        return f"{self.what} {self.mend}"


def faults(text: str) -> Iterator[Fault]:
    """Every row that leaves a question open, in the order of the text."""
    return (fault for row in cut(text)[0] if (fault := _fault(row)))


def _fault(row: Row) -> Fault | None:
    told = f"“{row.span.words[:60]}”"
    if not is_code(row.code):
        return Fault(f"{told} does not begin with an allergen code.", _HOW, True)
    if row.level not in levels() and row.code not in NONE_DECLARED:
        what = f"{told} gives no level of containment" if not row.level else f"In {told}, {row.level} is no level"
        return Fault(f"{what}, so nobody knows in what sense the allergen is named.", _HOW, True)
    if row.code not in allergen_codes():
        likely = likely_code(row.code)
        mend = f"Is {likely} meant?" if likely else "Compare it with the supplier's data."
        return Fault(f"{row.code} is no allergen code that is known here, so it counts as not understood.", mend, False)
    return None


_HOW = "Write a code and a level on each line, such as AM CONTAINS; the words of a package are no codes."
