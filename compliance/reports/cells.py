"""Cells of a workbook: whatever text is put into one, it is never a formula."""

from __future__ import annotations

from openpyxl.cell import Cell as SheetCell

from compliance.reports.exceptions_table import Cell
from compliance.reports.neutral import without_control_signs

LONGEST = 32_767  # characters that a cell of a workbook holds


def write_cell(cell: SheetCell, value: Cell | list[str]) -> None:
    """Write dates and numbers as such, and all else as text that is never a formula, whatever it begins with."""
    if isinstance(value, list):
        value = "\n".join(value)
    if not isinstance(value, str):
        cell.value = value
        if not isinstance(value, int):
            cell.number_format = "yyyy-mm-dd"
        return
    text = without_control_signs(value)
    cell.value = text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"
    cell.data_type = "s"
    # Without it a spreadsheet would make a formula of the text as soon as somebody edits the cell.
    cell.quotePrefix = True
