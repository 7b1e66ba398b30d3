"""Which substances cooking steam or flour dust carries through the air."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files

from menus.labels.evidence import ANY
from menus.substances.catalogue import Catalogue


@cache
def is_airborne(substance: str) -> bool:
    """Tell whether the sources speak of it, of its group, or of a member of it: what is in doubt could be that one."""
    if substance == ANY:
        return True
    catalogue = Catalogue.load()
    related = {substance, *catalogue.ancestors(substance), *catalogue.descendants(substance)}
    return not related.isdisjoint(_named())


@cache
def _named() -> frozenset[str]:
    with (files("menus.kitchen") / "data" / "airborne.csv").open(encoding="utf-8") as rows:
        return frozenset(row["substance"] for row in csv.DictReader(rows))
