"""Records out of CSV bytes (RFC 4180: commas, quotation marks doubled, CRLF or LF)."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from django.conf import settings

from menus.imports.problem import Unreadable
from menus.imports.record import Record


def csv_records(data: bytes) -> Iterator[Record]:
    """Yield the records; one with line breaks inside a cell counts as one row, as in a spreadsheet.

    Raises Unreadable for text that is not UTF-8, at the first record that is no CSV, and beyond IMPORT_MAX_ROWS.
    """
    text = _decoded(data)
    # The cap on a field is the csv module's own and one for all threads; ours is the size of the file.
    csv.field_size_limit(max(csv.field_size_limit(), settings.IMPORT_MAX_BYTES))
    records = csv.reader(io.StringIO(text, newline=""), strict=True)
    number = 0
    while True:
        number += 1
        try:
            cells = next(records)
        except StopIteration:
            return
        except csv.Error as error:
            raise Unreadable(
                f"From here on the file cannot be read as CSV ({error}).",
                "Look for a quotation mark that is opened and not closed; a quotation mark inside a cell is doubled.",
                row=number,
            ) from error
        _refuse_too_many(number)
        yield Record(number, [cell.strip() for cell in cells])


def _refuse_too_many(number: int) -> None:
    if number > settings.IMPORT_MAX_ROWS + 1:
        raise Unreadable(
            f"The file has more than the {settings.IMPORT_MAX_ROWS:,} rows that one import takes.",
            "Split it into several files and import them one after the other.",
            row=number,
        )


def _decoded(data: bytes) -> str:
    """Return the text without a byte order mark."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable(
            "The file is not written in UTF-8, so accents and other letters cannot be told apart.",
            "In the spreadsheet choose “Save as” and the type “CSV UTF-8”, or save it as .xlsx.",
            row=data.count(b"\n", 0, error.start) + 1,
        ) from error
    if "\x00" in text:
        raise Unreadable(
            "The file holds NUL characters, so it is not a CSV file or was damaged on its way.",
            "Save it again from the spreadsheet as “CSV UTF-8” or .xlsx.",
            row=text.count("\n", 0, text.index("\x00")) + 1,
        )
    return text
