"""The demo's data files."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from importlib.resources import files
from io import BytesIO, StringIO

Row = dict[str, str]


def rows(name: str) -> list[Row]:
    """Return the rows of one data file by column name."""
    with (files("compliance.demo") / "data" / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def sheet(table: Iterable[Row]) -> BytesIO:
    """Return the rows as a CSV file, as somebody would upload it."""
    table = list(table)
    text = StringIO()
    writer = csv.DictWriter(text, table[0].keys())
    writer.writeheader()
    writer.writerows(table)
    return BytesIO(text.getvalue().encode())
