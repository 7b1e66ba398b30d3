"""Entries of the record of actions as a file, CSV (RFC 4180) or XLSX, none of whose cells a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from openpyxl import Workbook
from openpyxl.cell import Cell as SheetCell

from compliance.reports.cells import write_cell
from compliance.reports.neutral import harmless, without_control_signs
from roster.models import Action

COLUMNS = ("Recorded at (UTC)", "Site", "Number", "Done", "To what", "By", "Child number", "Said", "Digest", "Seal")


def record_csv(entries: Iterable[Action]) -> bytes:
    """Return the file: a header and a line for each entry, times as ISO 8601, UTF-8 with a byte order mark."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    writer.writerow(COLUMNS)
    writer.writerows([harmless(without_control_signs(cell)) for cell in cells] for cells in map(_cells, entries))
    return out.getvalue().encode("utf-8-sig")


def record_xlsx(entries: Iterable[Action]) -> bytes:
    """Return the workbook: a header that stays, and a row for each entry."""
    book = Workbook(write_only=False)
    sheet = book.worksheets[0]
    sheet.title = "Record of actions"
    for row, cells in enumerate([COLUMNS, *map(_cells, entries)], start=1):
        for column, text in enumerate(cells, start=1):
            cell = sheet.cell(row, column)
            assert isinstance(cell, SheetCell)  # none is merged
            write_cell(cell, text)
    sheet.freeze_panes = "A2"
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _cells(entry: Action) -> Sequence[str]:
    return (
        entry.recorded_at.isoformat(),
        entry.site.code if entry.site else "",
        str(entry.number),
        str(entry.get_verb_display()),
        entry.subject,
        entry.actor.username if entry.actor else "",
        str(entry.child_id or ""),
        entry.payload,
        entry.digest,
        entry.seal,
    )
