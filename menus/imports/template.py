"""Templates to fill in, as CSV and as XLSX. They hold no example row, so that none is imported by mistake."""

from __future__ import annotations

import csv
import io

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from menus.imports.kind import Kind

TEXT = "@"  # the number format that keeps zeros in front
ROWS_SET_TO_TEXT = 500


def csv_template(kind: Kind) -> bytes:
    """Return the header row, with a byte order mark so that spreadsheets read it as UTF-8."""
    out = io.StringIO(newline="")
    csv.writer(out).writerow(kind.header)
    return out.getvalue().encode("utf-8-sig")


def xlsx_template(kind: Kind) -> bytes:
    """Return a workbook with the header on its first sheet and what each column means on its second."""
    book = Workbook()
    table: Worksheet = book.active  # type: ignore[assignment]  # a new workbook has a worksheet
    table.title = kind.name
    table.append(kind.header)
    table.freeze_panes = "A2"
    for number, column in enumerate(kind.columns, start=1):
        table.cell(1, number).font = Font(bold=True)
        table.column_dimensions[get_column_letter(number)].width = max(14, len(column.name) + 4)
        for row in range(2, ROWS_SET_TO_TEXT + 2):
            table.cell(row, number).number_format = TEXT
    _explain(book.create_sheet("How to fill it in"), kind)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _explain(sheet: Worksheet, kind: Kind) -> None:
    sheet.append(["Column", "Needed in every row", "What it holds", "Example (invented)"])
    for column in kind.columns:
        sheet.append([column.name, "yes" if column.required else "", column.help, column.example])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for letter, width in zip("ABCD", (16, 12, 70, 32), strict=True):
        sheet.column_dimensions[letter].width = width
    for row in sheet.iter_rows():
        for cell in row:
            cell.alignment = Alignment(wrap_text=True, vertical="top")
