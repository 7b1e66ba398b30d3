"""Numbers of rows as a form or an address sends them: whatever stands there, it is looked up or left out."""

from __future__ import annotations

from collections.abc import Iterable

DIGITS = 18
"""As many always fit into a row's number."""


def row_number(sent: str) -> int:
    """Return what was sent as the number of a row, or 0, which none has."""
    return int(sent) if len(sent) <= DIGITS and sent.isascii() and sent.isdecimal() else 0


def row_numbers(sent: Iterable[str]) -> list[int]:
    """Return those among what was sent that can be numbers of rows."""
    return [number for each in sent if (number := row_number(each))]
