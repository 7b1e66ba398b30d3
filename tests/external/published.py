"""Published lists the project is held against, as data with the source on every row."""

from __future__ import annotations

import csv
from pathlib import Path

_DATA = Path(__file__).parent / "data"


def published(name: str) -> list[dict[str, str]]:
    """Rows of one published list."""
    with (_DATA / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))
