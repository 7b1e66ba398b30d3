"""Rows of the data files beside this package."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from importlib.resources import files


def rows(name: str) -> Iterator[dict[str, str]]:
    """Yield the rows of one file."""
    with (files("roster.kinds") / "data" / name).open(encoding="utf-8") as lines:
        yield from csv.DictReader(lines)


def codes(cell: str) -> tuple[str, ...]:
    """Return what stands in one cell, separated by semicolons."""
    return tuple(code for code in cell.split(";") if code)
