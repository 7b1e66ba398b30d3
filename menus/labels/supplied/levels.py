"""GS1 levels of containment: in what sense a supplier names an allergen."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from importlib.resources import files
from types import MappingProxyType

from menus.labels.supplied.codes import local_name

_PREFIX = "LEVELOFCONTAINMENTCODE-"


class Says(StrEnum):
    """What a level comes to."""

    CONTAINS = "contains"
    MAY_CONTAIN = "may-contain"
    FREE = "free"  # a claim: shown, never believed


@dataclass(frozen=True, slots=True)
class Containment:
    """One level of containment."""

    code: str
    name: str
    says: Says
    source: str
    verified: str
    note: str


@cache
def levels() -> Mapping[str, Containment]:
    """Every level of the table beside this module, read once."""
    with (files("menus.labels.supplied") / "data" / "containment_levels.csv").open(encoding="utf-8") as rows:
        found = (
            Containment(row["code"], row["name"], Says(row["says"]), row["source"], row["verified"], row["note"])
            for row in csv.DictReader(rows)
        )
        return MappingProxyType({level.code: level for level in found})


@lru_cache(maxsize=4096)
def bare_level(written: str) -> str:
    """The level alone, out of all ways to write it: any case, `may contain`, `gs1:LevelOfContainmentCode-FREE_FROM`."""
    return re.sub(r"\W+", "_", local_name(written).upper().removeprefix(_PREFIX))
