"""Which cleaning removes allergens from which material."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType

ANY_MATERIAL = "any"


class UnknownMethod(Exception):
    """A cleaning method that the table does not hold."""


@cache
def methods() -> Mapping[str, Mapping[str, bool]]:
    """Return, by method code, the materials it was judged on and whether it removes allergens from them."""
    table: dict[str, dict[str, bool]] = {}
    with (files("menus.kitchen") / "data" / "cleaning_methods.csv").open(encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            table.setdefault(row["code"], {})[row["material"]] = row["removes"] == "yes"
    return MappingProxyType(table)


@cache
def method_names() -> Mapping[str, str]:
    """Return the methods' names by code, in the order of the table."""
    with (files("menus.kitchen") / "data" / "cleaning_methods.csv").open(encoding="utf-8") as rows:
        return MappingProxyType({row["code"]: row["name"] for row in csv.DictReader(rows)})


def removes(method: str, material: str) -> bool:
    """Tell whether the method removes allergens from the material; a pair that nobody judged does not.

    Raises UnknownMethod when the table does not hold the method at all.
    """
    try:
        judged = methods()[method]
    except KeyError:
        known = ", ".join(sorted(methods()))
        raise UnknownMethod(f"“{method}” is no cleaning method. Use one of: {known}.") from None
    return judged.get(material, judged.get(ANY_MATERIAL, False))
