"""Files of labels whose allergens are known from elsewhere, by the line."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Any

Row = dict[str, Any]


class Ask(StrEnum):
    """What a row can be asked, told by the columns it has."""

    DECLARATION = "declaration"  # the maker's own declaration, taken out of the text
    GLOSS = "gloss"  # a source named in brackets, taken out of the text
    TAGS = "tags"  # what people tagged the label with
    COVERAGE = "coverage"  # nothing known: how much of it is read


_COLUMNS = (
    (Ask.DECLARATION, "declared_contains"),
    (Ask.GLOSS, "glosses"),
    (Ask.TAGS, "allergens_eu14"),
    (Ask.COVERAGE, "statement"),
)

CODES = {
    "crustacean_shellfish": "crustacean",
    "crustaceans": "crustacean",
    "tree_nuts": "tree-nut",
    "nuts": "tree-nut",
    "peanuts": "peanut",
    "soybeans": "soy",
    "eggs": "egg",
    "sulphites": "sulphite",
    "molluscs": "mollusc",
}
"""Other people's names of allergen groups, as codes of the catalogue; the rest are spelt alike."""

NINE = ("milk", "egg", "fish", "crustacean", "tree-nut", "wheat", "peanut", "soy", "sesame")


class BadFile(ValueError):
    """A file that holds no rows to measure by."""


def rows_of(path: Path) -> Iterator[Row]:
    """Every row of a file of JSON lines, plain or gzipped. Raises BadFile with the line that is none."""
    opened = gzip.open if path.suffix == ".gz" else open
    with opened(path, "rt", encoding="utf-8") as lines:
        for number, line in enumerate(lines, start=1):
            try:
                row = json.loads(line)
            except json.JSONDecodeError as error:
                raise BadFile(f"{path}, line {number}: not JSON ({error.msg}); write one object a line.") from error
            if not isinstance(row, dict):
                raise BadFile(f"{path}, line {number}: not an object; write one object a line.")
            yield row


def ask_of(path: Path, row: Row) -> Ask:
    """What the rows of this file can be asked. Raises BadFile when it has none of the columns."""
    for ask, column in _COLUMNS:
        if column in row:
            return ask
    names = ", ".join(column for _, column in _COLUMNS)
    raise BadFile(f"{path}: none of the columns {names} is there, so nothing is known to measure against; add one.")


def codes(names: list[str]) -> frozenset[str]:
    """The catalogue's codes for these group names."""
    return frozenset(CODES.get(name, name) for name in names)


def jurisdiction_of(row: Row) -> str:
    """The law the label was written under: the files tell the United States from other English labels, no more."""
    return "us" if row.get("region", "us") == "us" else "uk"


def is_aside(row: Row) -> bool:
    """Whether the row belongs to the third that nobody looks at while the reader is being mended."""
    return int(row["id"], 16) % 3 == 2
