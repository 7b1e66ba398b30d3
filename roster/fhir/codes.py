"""Codes of open terminologies that name a food, and what they mean here. A small table: what it lacks, people name.

SNOMED CT is licensed; only codes that are needed stand here, most of them from the part that HL7's International
Patient Summary may pass on (CC BY 4.0). A place outside it needs its own licence to send or to look up more.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

SNOMED = "http://snomed.info/sct"
OURS = "urn:x-menu-compliance:substance"
"""The system of our own codes, which are for ever (`menus/substances`): what we wrote is read exactly."""

TOLD = "told"
"""The code in our own system for what names no substance: its text is what people see to."""


@dataclass(frozen=True, slots=True)
class Coded:
    """One code of one system."""

    system: str
    code: str
    display: str
    substances: tuple[str, ...]  # codes of the catalogue; empty with `nothing_known`
    nothing_known: bool  # it says that no allergy is known
    to_confirm: bool  # it names a group that people mean differently: "nuts"
    goes_out: bool  # it is written when the substance is sent to somebody else
    source: str
    verified: str  # "read" | "memory"


@cache
def codes() -> Mapping[tuple[str, str], Coded]:
    """Return the table by system and code."""
    with (files("roster.fhir") / "data" / "codes.csv").open(encoding="utf-8") as lines:
        rows = [_coded(row) for row in csv.DictReader(lines)]
    return MappingProxyType({(row.system, row.code): row for row in rows})


def coding_of(substance: str) -> Coded | None:
    """Return the code under which the substance is sent, where the table has one."""
    return next((row for row in codes().values() if row.goes_out and row.substances == (substance,)), None)


def _coded(row: dict[str, str]) -> Coded:
    return Coded(
        system=row["system"],
        code=row["code"],
        display=row["display"],
        substances=tuple(code for code in row["substances"].split(";") if code),
        nothing_known=row["means"] == "nothing-known",
        to_confirm=bool(row["confirm"]),
        goes_out=bool(row["out"]),
        source=row["source"],
        verified=row["verified"],
    )
