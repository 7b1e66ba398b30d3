"""The tables of a OneRoster package, cut down to the few columns that this service needs.

Race, sex, birth place, password and telephone are dropped here, before anything else sees them.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from importlib.resources import files
from itertools import zip_longest

from menus.imports.csv_sheet import csv_records
from menus.imports.draft import Draft, doubles
from menus.imports.problem import Unreadable
from menus.imports.record import Record
from menus.imports.sheet import Row
from roster.imports.package import Package

BOM = b"\xef\xbb\xbf"
GONE_IN_1_2_1 = "resourceSourcedIds"
GONE = "tobedeleted"
STATUSES = ("active", GONE)


@dataclass(frozen=True, slots=True)
class Columns:
    """What one file of one version of the standard holds."""

    all: tuple[str, ...]
    required: frozenset[str]
    read: frozenset[str]


Tables = dict[str, list[Row]]
"""Sound rows by the name of their file, without “.csv”."""


def read_tables(draft: Draft, package: Package) -> Tables | None:
    """Return the sound rows of all files; the others are problems. None when a file cannot be read as a whole."""
    tables = {name: _read_table(draft, package, name, data) for name, data in package.files.items()}
    sound = {name: rows for name, rows in tables.items() if rows is not None}
    return sound if len(sound) == len(tables) else None


def _read_table(draft: Draft, package: Package, name: str, data: bytes) -> list[Row] | None:
    file = f"{name}.csv"
    if data.startswith(BOM):
        draft.note(0, "", "The file begins with a byte order mark, which was left out.", file=file)
    columns = columns_of(package.version, name)
    try:
        records = csv_records(data)
        header = next(records, Record(1, [])).cells
        _check_header(header, columns.all, file)
        rows = list(_rows(draft, records, header, columns, file, is_delta=name in package.deltas))
    except Unreadable as error:
        problem = error.problem
        draft.refuse(problem.row, problem.field, problem.what, problem.mend, file=file)
        return None
    return _without_doubles(draft, rows, file)


@cache
def columns_of(version: str, name: str) -> Columns:
    """Return the columns of a file in the order of the standard, from data/columns.csv."""
    with (files("roster.imports") / "data" / "columns.csv").open(encoding="utf-8") as lines:
        rows = [row for row in csv.DictReader(lines) if (row["version"], row["file"]) == (version, name)]
    return Columns(
        tuple(row["column"] for row in rows),
        frozenset(row["column"] for row in rows if row["required"]),
        frozenset(row["column"] for row in rows if row["read"]),
    )


def _check_header(header: list[str], declared: tuple[str, ...], file: str) -> None:
    """The declared columns come first and in order; a file's own come after them as metadata.<name>."""
    shorter = tuple(column for column in declared if column != GONE_IN_1_2_1)
    for wanted in (declared, shorter):
        own = header[len(wanted) :]
        if tuple(header[: len(wanted)]) == wanted and all(column.startswith("metadata.") for column in own):
            return
    pairs = enumerate(zip_longest(header, declared, fillvalue=""), start=1)
    number, found, due = next((number, found, due) for number, (found, due) in pairs if found != due)
    raise Unreadable(
        f"Column {number} of the header is “{found[:40]}”; the standard has “{due or 'metadata.<name>'}” there.",
        "Export the file again and do not move, rename or delete its columns.",
        row=1,
        file=file,
    )


def _rows(
    draft: Draft, records: Iterator[Record], header: list[str], columns: Columns, file: str, *, is_delta: bool
) -> Iterator[Row]:
    is_sound = _is_sound_change if is_delta else _is_complete
    for record in records:
        if not any(record.cells):
            continue
        if len(record.cells) != len(header):
            draft.refuse(
                record.number,
                "",
                f"The row has {len(record.cells)} cells and the header has {len(header)}.",
                "A cell that holds a comma stands in quotation marks.",
                file=file,
            )
            continue
        cells = dict(zip(header, record.cells, strict=True))
        if is_sound(draft, record.number, cells, columns.required, file):
            yield Row(record.number, {column: cells.get(column, "") for column in columns.read})


def _is_complete(draft: Draft, number: int, cells: dict[str, str], required: frozenset[str], file: str) -> bool:
    empty = sorted(column for column in required if not cells.get(column))
    for column in empty:
        draft.refuse(number, column, "The cell is empty, and the standard requires it.", "Fill it in.", file=file)
    if cells.get("status") == GONE:
        what = f"The row is marked “{GONE}”, which only a delta file may do."
        draft.refuse(number, "status", what, "Leave the row out of a full file.", file=file)
    return not empty and cells.get("status") != GONE


def _is_sound_change(draft: Draft, number: int, cells: dict[str, str], required: frozenset[str], file: str) -> bool:
    """Of a row that is taken back only its id is needed."""
    status = cells.get("status", "")
    if status not in STATUSES:
        what = f"“{status[:40]}” is no status of a change." if status else "Nothing says what became of the row."
        draft.refuse(number, "status", what, f"Use {' or '.join(STATUSES)}.", file=file)
        return False
    if modified_at(cells.get("dateLastModified", "")) is None:
        what = f"“{cells.get('dateLastModified', '')[:40]}” is no moment in ISO 8601."
        draft.refuse(number, "dateLastModified", what, "Write it as 2026-10-14T15:02:11.000Z.", file=file)
        return False
    wanted = frozenset({"sourcedId"}) if status == GONE else required
    return _is_complete(draft, number, {**cells, "status": ""}, wanted, file)


def modified_at(text: str) -> datetime | None:
    """Return the moment that a cell of dateLastModified gives, or None when it is none; they are in UTC."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


def _without_doubles(draft: Draft, rows: list[Row], file: str) -> list[Row]:
    twice = doubles((row.number, row.cells["sourcedId"]) for row in rows)
    for row in rows:
        if row.number in twice:
            what = f"“{row.cells['sourcedId'][:40]}” stands in row {twice[row.number]} too, so neither can be trusted."
            draft.refuse(row.number, "sourcedId", what, "Give each its own sourcedId.", file=file)
    return [row for row in rows if row.number not in twice]
