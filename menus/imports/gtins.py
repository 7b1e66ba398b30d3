"""GTINs as spreadsheets leave them."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from menus.gtin import parse_gtin
from menus.imports.cells import Cells

SHORTEST = 7  # digits; a number with more zeros lost is more likely something else


def read_gtin(cells: Cells, field: str = "gtin") -> str:
    """Return the cell's GTIN as 14 digits, or an empty text when there is none.

    Zeros in front that a spreadsheet took away are put back when the check digit then fits, and a note says so.
    """
    typed = cells.raw(field)
    if not typed:
        return ""
    try:
        return parse_gtin(_padded(cells, field, typed))
    except ValidationError as error:
        if _scientific(typed):
            cells.refuse(
                field,
                f"The spreadsheet turned the number into “{typed}” and its last digits are lost.",
                "Set the column to text, then type the digits under the bars again.",
            )
        else:
            cells.refuse(field, " ".join(error.messages), "An item without a number leaves the cell empty.")
        return ""


def _padded(cells: Cells, field: str, typed: str) -> str:
    if not (typed.isascii() and typed.isdigit() and SHORTEST <= len(typed) < 14) or len(typed) in (8, 12, 13):
        return typed
    padded = typed.zfill(min(length for length in (8, 12, 14) if length > len(typed)))
    try:
        parse_gtin(padded)
    except ValidationError:
        return typed
    cells.note(
        field, f"Zeros in front were lost: “{typed}” is read as {padded}.", "Set the column to text to keep them."
    )
    return padded


def _scientific(typed: str) -> bool:
    head, sign, tail = typed.casefold().partition("e+")
    return bool(sign) and head.replace(".", "", 1).replace(",", "", 1).isdigit() and tail.isdigit()
