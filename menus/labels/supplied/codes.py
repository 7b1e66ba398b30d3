"""GS1 allergen type codes and what each names, in the short form (AM) and the long one (MILK)."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache, lru_cache
from importlib.resources import files
from types import MappingProxyType
from urllib.parse import unquote

NONE_DECLARED = frozenset({"X99", "NO_DECLARED_ALLERGENS"})
"""The codes that name no allergen but say that none need be declared."""

_PREFIX = "ALLERGENTYPECODE-"
_SHAPE = re.compile(r"[A-Z0-9][A-Z0-9_-]+")


@dataclass(frozen=True, slots=True)
class AllergenCode:
    """One code. What it names is never narrower than what GS1 means by it."""

    code: str
    name: str
    substances: tuple[str, ...]  # exactly these: whoever says “free from” denies them
    also: tuple[str, ...]  # said with it, and not denied with it: the nearest wider substance, or where it comes from
    left_open: tuple[str, ...]  # may be meant
    source: str
    verified: str
    note: str

    @property
    def stated(self) -> tuple[str, ...]:
        """What a product holds for certain that contains it."""
        return self.substances + self.also

    @property
    def concerns(self) -> tuple[str, ...]:
        """All that the code may be about; empty when no restriction can name it."""
        return self.stated + self.left_open


@cache
def allergen_codes() -> Mapping[str, AllergenCode]:
    """Every code of the table beside this module, read once."""
    with (files("menus.labels.supplied") / "data" / "allergen_codes.csv").open(encoding="utf-8") as rows:
        codes = (
            AllergenCode(
                code=row["code"],
                name=row["name"],
                substances=_several(row["substances"]),
                also=_several(row["also"]),
                left_open=_several(row["left_open"]),
                source=row["source"],
                verified=row["verified"],
                note=row["note"],
            )
            for row in csv.DictReader(rows)
        )
        return MappingProxyType({code.code: code for code in codes})


@lru_cache(maxsize=4096)
def bare_code(written: str) -> str:
    """The code alone, out of all ways to write it: any case, percent-encoded, `gs1:AllergenTypeCode-AM`, an address."""
    return re.sub(r"[^\w-]+", "_", local_name(written).upper().removeprefix(_PREFIX))


def is_code(text: str) -> bool:
    """Tell whether a bare code has the shape of one, known here or not."""
    return _SHAPE.fullmatch(text) is not None


def likely_code(code: str) -> str:
    """The known code that an unknown one was most likely meant to be, or an empty text."""
    near = get_close_matches(code, allergen_codes(), n=1, cutoff=0.75) if len(code) > 3 else []
    return near[0] if near else ""


def local_name(written: str) -> str:
    """A name of the GS1 vocabulary without what stands before it."""
    text = unquote(written).strip().strip("\"'<>:")
    return text[max(map(text.rfind, "/#:")) + 1 :] or text


def _several(cell: str) -> tuple[str, ...]:
    return tuple(code for code in cell.split(";") if code)
