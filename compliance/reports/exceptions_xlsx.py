"""Exceptions as a workbook: typed dates, a header that stays, wrapped reasons, and a print that reads well in grey."""

from __future__ import annotations

import io
from collections.abc import Iterable

from openpyxl import Workbook
from openpyxl.cell import Cell as SheetCell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from compliance.checks.exceptions import ExceptionRow
from compliance.reports.cells import write_cell
from compliance.reports.exceptions_head import Head
from compliance.reports.exceptions_table import COLUMNS, PRINTED, Cell
from compliance.rules.values import Outcome

HEADER_ROW = 3
INDIGO, OCHRE, PALE, LINE = "2F2A6B", "C98A1B", "E7E7EA", "8A8A92"
LINE_HEIGHT = 15.5  # points
TOP = Alignment(vertical="top", wrap_text=True)
THIN = Border(bottom=Side("thin", color=LINE))
LOOKS = {
    # Words first, then shape, then tone: a solid block and a hatching are told apart without any colour.
    Outcome.WITHHOLD.words: (PatternFill("solid", fgColor=INDIGO), Font(bold=True, color="FFFFFF")),
    Outcome.REFER.words: (PatternFill("lightUp", fgColor=OCHRE, bgColor="FFFFFF"), Font(bold=True)),
}


def exceptions_xlsx(rows: Iterable[ExceptionRow], head: Head) -> bytes:
    """Return the workbook: the table on its first sheet, when and from what it was made on its second."""
    book = Workbook()
    sheet: Worksheet = book.active  # type: ignore[assignment]  # a new workbook has a worksheet
    sheet.title = "Exceptions"
    _title(sheet, head)
    for number, column in enumerate(COLUMNS, start=1):
        _heading(_at(sheet, HEADER_ROW, number), column.title)
        sheet.column_dimensions[get_column_letter(number)].width = column.width
    last = HEADER_ROW
    for last, row in enumerate(rows, start=HEADER_ROW + 1):
        for number, column in enumerate(COLUMNS, start=1):
            _fill(_at(sheet, last, number), column.cell(row))
    sheet.freeze_panes = f"A{HEADER_ROW + 1}"
    sheet.auto_filter.ref = f"A{HEADER_ROW}:{get_column_letter(len(COLUMNS))}{last}"
    _for_print(sheet, head, last)
    _about(book.create_sheet("About this export"), head)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _title(sheet: Worksheet, head: Head) -> None:
    lines = dict(head.lines)
    texts = (
        f"Exceptions {lines['Days']} · exported {lines['Exported']} · read from: {lines['Read from']}",
        f"{lines['Caution']} Not checked: {lines['Not checked']}.",
    )
    width = sum(column.width for column in COLUMNS[:PRINTED])
    for row, text in enumerate(texts, start=1):
        write_cell(_at(sheet, row, 1), text)
        sheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=PRINTED)
        sheet.cell(row, 1).alignment = TOP
        # Merged cells do not grow with their text by themselves.
        sheet.row_dimensions[row].height = LINE_HEIGHT * (len(text) // width + 1)
    sheet.cell(1, 1).font = Font(bold=True)


def _at(sheet: Worksheet, row: int, column: int) -> SheetCell:
    cell = sheet.cell(row, column)
    assert isinstance(cell, SheetCell), "cells are written before they are merged"
    return cell


def _heading(cell: SheetCell, title: str) -> None:
    cell.value = title
    cell.font = Font(bold=True)
    cell.fill = PatternFill("solid", fgColor=PALE)
    cell.alignment = TOP
    cell.border = Border(bottom=Side("medium", color=LINE))


def _fill(cell: SheetCell, value: Cell | list[str]) -> None:
    write_cell(cell, value)
    cell.alignment = TOP
    cell.border = THIN
    if isinstance(value, str) and value in LOOKS:
        cell.fill, cell.font = LOOKS[value]


def _for_print(sheet: Worksheet, head: Head, last: int) -> None:
    sheet.print_area = f"A1:{get_column_letter(PRINTED)}{last}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = f"1:{HEADER_ROW}"
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    footer = sheet.oddFooter
    assert footer is not None and footer.left is not None and footer.right is not None  # a new sheet has one
    footer.left.text = f"Exported {head.made_at.isoformat(timespec='minutes')}"
    footer.right.text = "Page &P of &N"


def _about(sheet: Worksheet, head: Head) -> None:
    for number, (name, text) in enumerate(head.lines, start=1):
        write_cell(_at(sheet, number, 1), name)
        write_cell(_at(sheet, number, 2), text)
        sheet.cell(number, 1).font = Font(bold=True)
        for cell in sheet[number]:
            cell.alignment = TOP
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 16, 110
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
