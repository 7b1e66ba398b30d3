"""Files as people upload them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Any

from openpyxl import Workbook

from menus.imports.kind import Kind


def csv_file(kind: Kind, *rows: dict[str, str]) -> io.BytesIO:
    """A CSV file of this kind; a row names only the cells that are filled."""
    return io.BytesIO(csv_bytes([kind.header, *([row.get(name, "") for name in kind.header] for row in rows)]))


def csv_bytes(rows: Iterable[Sequence[str]]) -> bytes:
    """Rows as CSV bytes."""
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


def xlsx_file(rows: Iterable[Sequence[Any]]) -> io.BytesIO:
    """Rows as the first sheet of a workbook."""
    book = Workbook()
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    out.seek(0)
    return out
