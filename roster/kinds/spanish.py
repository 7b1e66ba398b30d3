"""Spanish names of what the data files name in English: substances, kinds, parts of a statement, who may sign.

The names were written from memory and wait for a native translator, as the column `verified` says row by row.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from roster.kinds.table import codes, rows

SPANISH = "es"


@dataclass(frozen=True, slots=True)
class SpanishRow:
    """One name. `also` are further words under which families write it."""

    of: str  # "substance" | "kind" | "part" | "signer"
    code: str
    es: str
    also: tuple[str, ...]
    verified: str  # "read" | "memory"


@cache
def spanish_rows() -> tuple[SpanishRow, ...]:
    """Return every row of the file."""
    return tuple(
        SpanishRow(row["of"], row["code"], row["es"], codes(row["also"]), row["verified"])
        for row in rows("spanish.csv")
    )


@cache
def _names() -> dict[tuple[str, str], str]:
    return {(row.of, row.code): row.es for row in spanish_rows()}


def name_in(language: str, of: str, code: str, english: str) -> str:
    """Return the name in that language; in English where the language is another, or the file has no row for it."""
    return _names().get((of, code), english) if language == SPANISH else english
