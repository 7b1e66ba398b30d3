"""The kinds of restriction that people report, and what each usually comes down to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from types import MappingProxyType
from typing import Any

from roster.kinds.table import codes, rows


class Enforced(StrEnum):
    """How far the service looks after a kind by itself."""

    SUBSTANCE = "substance"  # its substances are looked for in every food
    PARTLY = "partly"  # so they are, and a person sees to the rest
    NOT = "not"  # kept and shown; a person sees to all of it
    TEXTURE = "texture"  # by the texture of food and drink
    AGE = "age"  # by the birth date
    CALENDAR = "calendar"  # on set days
    COMBINATION = "combination"  # foods that may not meet in one meal


@dataclass(frozen=True, slots=True)
class RestrictionKind:
    """One kind. What it fills in is a proposal: a person confirms every substance."""

    code: str
    family: str
    name: str
    substances: tuple[str, ...]  # codes of the catalogue; empty: the child's own are to be named
    strictness: str  # "trace" | "ingredient"
    basis: str  # a basis as roster.models.restriction names them
    statement: str  # a signed statement is "expected" | "recommended" | "not" needed | a "parent" may ask
    enforced: Enforced
    told: str  # what people see to, as a proposal; it names no condition
    ask: str  # what to ask whoever reports it
    source: str
    verified: str  # "read" | "memory"


@cache
def restriction_kinds() -> Mapping[str, RestrictionKind]:
    """Return the kinds by code, in the order of the file."""
    return MappingProxyType({row["code"]: _kind(row) for row in rows("kinds.csv")})


def _kind(row: dict[str, Any]) -> RestrictionKind:
    return RestrictionKind(**{**row, "substances": codes(row["substances"]), "enforced": Enforced(row["enforced"])})
