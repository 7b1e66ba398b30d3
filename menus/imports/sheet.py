"""A sheet: one table out of a CSV or XLSX file, as text, with the row numbers that a spreadsheet shows."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import IO

from django.conf import settings

from menus.imports.csv_sheet import csv_records
from menus.imports.problem import Problem, Unreadable
from menus.imports.record import Record
from menus.imports.xlsx_sheet import xlsx_records

ZIP = b"PK\x03\x04"
OLD_EXCEL = b"\xd0\xcf\x11\xe0"


@dataclass(frozen=True, slots=True)
class Row:
    """One row below the header: cells by column name, stripped of spaces at both ends."""

    number: int
    cells: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The rows that could be read and what was wrong with the rest."""

    rows: tuple[Row, ...]
    problems: tuple[Problem, ...]


def read_bytes(file: IO[bytes]) -> bytes:
    """Return the whole file, or raise Unreadable when it is empty or larger than IMPORT_MAX_BYTES."""
    data = file.read(settings.IMPORT_MAX_BYTES + 1)
    if not data.strip():
        raise Unreadable("The file is empty.", "Choose the file again; the template shows the columns it needs.")
    if len(data) > settings.IMPORT_MAX_BYTES:
        raise Unreadable(
            f"The file is larger than the {settings.IMPORT_MAX_BYTES:,} bytes that one import takes.",
            "Split it into several files and import them one after the other.",
        )
    return data


def read_sheet(file: IO[bytes], columns: Sequence[str], omissible: Sequence[str] = ()) -> Sheet:
    """Read a CSV or XLSX file whose header names exactly these columns, in any order; it may lack the omissible ones.

    The content decides which of the two it is, not the name. Whatever the bytes, the answer is a Sheet.
    """
    try:
        records = _records(read_bytes(file))
        header = _header(next(records, Record(1, [])), columns, omissible)
        return _rows(records, header, dict.fromkeys(omissible, ""))
    except Unreadable as error:
        return Sheet((), (error.problem,))


def _records(data: bytes) -> Iterator[Record]:
    if data.startswith(OLD_EXCEL):
        raise Unreadable(
            "This is an Excel file of the old kind (.xls), or one locked with a password.",
            "Open it, take off any password, and save it as “Excel workbook (.xlsx)” or “CSV UTF-8”.",
        )
    return xlsx_records(data) if data.startswith(ZIP) else csv_records(data)


def _header(record: Record, columns: Sequence[str], omissible: Sequence[str]) -> list[str]:
    names = [cell.casefold() for cell in _without_blank_end(record.cells)]
    _refuse_wrong_separator(names, columns)
    for name, times in Counter(names).items():
        if times > 1:
            raise Unreadable(f"The column “{name}” stands in the header {times} times.", "Keep one of them.", row=1)
    unknown = [name for name in names if name not in columns]
    if unknown:
        raise Unreadable(
            f"The header has a column that this import does not know: {_quoted(unknown)}.",
            f"{_likely(unknown[0], columns)}The columns are: {', '.join(columns)}.",
            row=1,
        )
    missing = [name for name in columns if name not in names and name not in omissible]
    if missing:
        raise Unreadable(
            f"The header lacks: {_quoted(missing)}.",
            "Add the column; it may stay empty where the template says so.",
            row=1,
        )
    return names


def _refuse_wrong_separator(cells: list[str], columns: Sequence[str]) -> None:
    for sign, word in ((";", "semicolons"), ("\t", "tabs"), ("|", "bars")):
        if len(cells) == 1 and len(columns) > 1 and sign in cells[0]:
            raise Unreadable(
                f"The columns are separated by {word}.",
                "Save the file with commas between the columns, or as .xlsx.",
                row=1,
            )


def _rows(records: Iterator[Record], header: list[str], empty: dict[str, str]) -> Sheet:
    rows: list[Row] = []
    problems: list[Problem] = []
    try:
        for record in records:
            cells = record.cells[: len(header)] + _without_blank_end(record.cells[len(header) :])
            if record.problems:
                problems.extend(record.problems)
            elif any(cells) and len(cells) != len(header):
                problems.append(_ragged(record.number, len(cells), len(header)))
            elif any(cells):
                rows.append(Row(record.number, {**empty, **dict(zip(header, cells, strict=True))}))
    except Unreadable as error:
        problems.append(error.problem)
    if not rows and not problems:
        problems.append(Problem(1, "", "There is no row below the header.", "Fill in one row for each record."))
    return Sheet(tuple(rows), tuple(problems))


def _ragged(number: int, found: int, wanted: int) -> Problem:
    return Problem(
        number,
        "",
        f"This row has {found} cells and the header has {wanted}.",
        "Put quotation marks around a cell that holds a comma, and keep the comma of an empty cell.",
    )


def _without_blank_end(cells: list[str]) -> list[str]:
    """Spreadsheets leave empty cells at the end of a row; they say nothing."""
    end = len(cells)
    while end and not cells[end - 1]:
        end -= 1
    return cells[:end]


def _quoted(names: Sequence[str]) -> str:
    return ", ".join(f"“{name[:40]}”" for name in names[:10])


def _likely(name: str, columns: Sequence[str]) -> str:
    near = get_close_matches(name, columns, n=1)
    return f"Is “{near[0]}” meant? " if near else "Take it out. "
