"""Records out of the first sheet of an XLSX file, as the same text that CSV would hold."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from datetime import datetime, time
from typing import Any

from django.conf import settings
from openpyxl import load_workbook

from menus.imports.archive import open_archive, read_member
from menus.imports.problem import Problem, Unreadable
from menus.imports.record import Record

WIDEST = 200  # columns; a stray cell further right would make every row that wide
DECLARATIONS = tuple("<!DOCTYPE".encode(form) for form in ("ascii", "utf-16-le", "utf-16-be"))
"""What an entity that grows without end needs, in each way of writing that an XML reader takes. No part of a workbook
holds any: ECMA-376 part 2 forbids them (from memory)."""


def xlsx_records(data: bytes) -> Iterator[Record]:
    """Return the rows. A cell with a formula is a problem of its row: formulas are never worked out here.

    Raises Unreadable for a file that is no workbook, unpacks to too much, or goes on below IMPORT_MAX_ROWS.
    """
    _refuse_declarations(data)
    with warnings.catch_warnings():
        # openpyxl warns of features it leaves out (drop-down lists, colours); cells are all we take.
        warnings.simplefilter("ignore")
        try:
            return iter(list(_records(data)))
        except Unreadable:
            raise
        except Exception as error:  # openpyxl lets through whatever its parsers raise on a broken file
            raise Unreadable(
                f"The file is no .xlsx workbook that can be read ({type(error).__name__}).",
                "Open it in the spreadsheet and save it again as .xlsx, or as “CSV UTF-8”.",
            ) from error


def _refuse_declarations(data: bytes) -> None:
    """Look through every part before any XML reader does: which of them are XML is for the file itself to say."""
    with open_archive(data) as archive:
        for name in archive.namelist():
            part = read_member(archive, name)
            if any(mark in part for mark in DECLARATIONS):
                raise Unreadable(
                    "The workbook declares entities of its own, which no spreadsheet does and which can do harm.",
                    "Open it in the spreadsheet, copy the table into a new workbook, and save that one.",
                )


def _records(data: bytes) -> Iterator[Record]:
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
    if not book.worksheets:
        raise Unreadable("The workbook has no sheet with cells.", "Put the table on its first sheet.")
    sheet = book.worksheets[0]
    # The size that the file states may be wrong, and rows outside it would be lost without a word.
    sheet.reset_dimensions()
    width = 0
    for number, cells in enumerate(sheet.iter_rows(), start=1):
        _refuse_too_large(number, len(cells))
        width = width or len(cells)  # of the header; a row ends at its last filled cell
        problems = tuple(problem for cell in cells if (problem := _unfit(cell, number)))
        yield Record(number, [_text(cell) for cell in cells] + [""] * (width - len(cells)), problems)
    book.close()


def _refuse_too_large(number: int, width: int) -> None:
    if number > settings.IMPORT_MAX_ROWS + 1:
        raise Unreadable(
            f"The sheet goes on below row {settings.IMPORT_MAX_ROWS + 1:,}, the last that one import takes.",
            "Delete the empty rows below the table, or split it into several files.",
            row=number,
        )
    if width > WIDEST:
        raise Unreadable(
            f"This row has a cell in column {width}, far right of the table.",
            "Delete the columns to the right of the table.",
            row=number,
        )


def _unfit(cell: Any, number: int) -> Problem | None:
    if cell.data_type == "f":
        what = "holds a formula, and formulas are not worked out here."
        return Problem(number, cell.coordinate, f"The cell {what}", "Copy the column and paste it back as values.")
    if cell.data_type == "e":
        return Problem(number, cell.coordinate, f"The cell shows the error {cell.value}.", "Type the value itself.")
    if "\x00" in str(cell.value):
        return Problem(number, cell.coordinate, "The cell holds a NUL character.", "Type the cell again.")
    return None


def _text(cell: Any) -> str:
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime):
        return value.date().isoformat() if value.time() == time() else value.isoformat(sep=" ")
    return str(value).strip()
