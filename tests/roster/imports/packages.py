"""Class lists to import: the invented sample, with one cell or file changed."""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Callable
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "external" / "data" / "oneroster"

Files = dict[str, bytes]


def sample(version: str = "1.1") -> Files:
    """The files of the sample by name."""
    folder = SAMPLES / f"v{version.replace('.', '_')}"
    return {path.name: path.read_bytes() for path in folder.glob("*.csv")}


def rewritten(files: Files, name: str, change: Callable[[list[list[str]]], object]) -> Files:
    """The files with one of them changed: `change` gets its rows, the header first, and alters them in place."""
    rows = list(csv.reader(io.StringIO(files[name].decode(), newline="")))
    change(rows)
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return {**files, name: out.getvalue().encode()}


def with_cell(files: Files, name: str, id: str, column: str, value: str) -> Files:
    """The files with one cell of the row of that sourcedId (in a manifest: of that property) set to a value."""

    def change(rows: list[list[str]]) -> None:
        at = rows[0].index(column)
        next(row for row in rows[1:] if row[0] == id)[at] = value

    return rewritten(files, name, change)


def without_row(files: Files, name: str, id: str) -> Files:
    """The files without one row."""
    return rewritten(files, name, lambda rows: rows.remove(next(row for row in rows if row[0] == id)))


def with_row(files: Files, name: str, id: str, **cells: str) -> Files:
    """The files with a copy of one row, some of its cells changed."""

    def change(rows: list[list[str]]) -> None:
        copied = dict(zip(rows[0], next(row for row in rows if row[0] == id), strict=True))
        rows.append([cells.get(column, value) for column, value in copied.items()])

    return rewritten(files, name, change)


def zipped(files: Files, *, folder: str = "") -> io.BytesIO:
    """The files as a zip."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(folder + name, data)
    out.seek(0)
    return out
