"""Exceptions as CSV (RFC 4180): UTF-8 with a byte order mark, every cell quoted, none that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from datetime import date

from compliance.checks.exceptions import ExceptionRow
from compliance.reports.exceptions_head import Head
from compliance.reports.exceptions_table import COLUMNS, Cell
from compliance.reports.neutral import harmless, without_control_signs

BETWEEN = " | "


def exceptions_csv(rows: Iterable[ExceptionRow], head: Head) -> bytes:
    """Return the file: the head's lines, an empty line, the header, a line for each exception.

    All lines have the same number of cells. Dates are ISO 8601.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    for name, text in head.lines:
        writer.writerow(_filled([name, text]))
    writer.writerow(_filled([]))
    writer.writerow([column.title for column in COLUMNS])
    writer.writerows([_text(column.cell(row)) for column in COLUMNS] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def _filled(cells: list[str]) -> list[str]:
    return [harmless(without_control_signs(cell)) for cell in cells] + [""] * (len(COLUMNS) - len(cells))


def _text(cell: Cell | list[str]) -> str:
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, int):
        return str(cell)
    text = cell if isinstance(cell, str) else BETWEEN.join(cell)
    return harmless(without_control_signs(text))
