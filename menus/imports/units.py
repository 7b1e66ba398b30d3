"""Units that a recipe line may be written in. The unit is kept as written; this only catches slips of the pen."""

from __future__ import annotations

import csv
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from menus.substances.names import comparable


def known_unit(text: str) -> bool:
    """Tell whether the text names a unit, whatever its case and spacing."""
    return comparable(text) in _units()


def likely_unit(text: str) -> str:
    """Return the unit that was most likely meant, or an empty text."""
    near = get_close_matches(comparable(text), _units(), n=1, cutoff=0.5)
    return _units()[near[0]] if near else ""


@cache
def _units() -> dict[str, str]:
    with (files("menus.imports") / "data" / "units.csv").open(encoding="utf-8") as rows:
        return {
            comparable(name): row["unit"]
            for row in csv.DictReader(rows)
            for name in (row["unit"], *row["also_called"].split(";"))
        }
