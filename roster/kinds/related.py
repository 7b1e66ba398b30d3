"""Foods that often trouble a child beside the one reported: advice to licensed staff, never an outcome."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from roster.kinds.table import codes, rows


@dataclass(frozen=True, slots=True)
class Related:
    """What one review says of one pair. Rates are percentages of those with the first allergy."""

    substance: str
    others: tuple[str, ...]
    low: float | None
    high: float | None
    measure: str
    advice: str
    source: str
    verified: str  # "read" | "memory"

    @property
    def rate(self) -> str:
        """The rate as a person reads it."""
        if self.low is None or self.high is None:
            return "no rate found"
        return f"{self.low:g} %" if self.low == self.high else f"{self.low:g} to {self.high:g} %"


@cache
def related() -> tuple[Related, ...]:
    """Return every pair of the file."""
    return tuple(_related(row) for row in rows("related.csv"))


def _related(row: dict[str, Any]) -> Related:
    low, high = (float(row[name]) if row[name] else None for name in ("low", "high"))
    return Related(**{**row, "others": codes(row["others"]), "low": low, "high": high})


def related_to(substance: str) -> tuple[Related, ...]:
    """Return what is published about a child with a restriction on that substance."""
    return tuple(row for row in related() if row.substance == substance)
