"""The number to call in an emergency, by country. A country without a row has none here: people call their local one.

ITU-T E.161.1 asks countries to choose 911 or 112 (memory); many keep a number of their own, so each row has a source.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class EmergencyNumber:
    """What to dial, as it is dialled in the country itself."""

    country: str  # ISO 3166-1 alpha-2, or EU
    number: str  # digits
    also: str  # another that works there, in words; empty: none on record
    source: str
    verified: str  # "read" | "memory"


@cache
def emergency_numbers() -> Mapping[str, EmergencyNumber]:
    """Return the numbers by country code."""
    with (files("roster.emergency") / "data" / "numbers.csv").open(encoding="utf-8") as lines:
        return MappingProxyType({row["country"]: EmergencyNumber(**row) for row in csv.DictReader(lines)})


def number_in(country: str) -> EmergencyNumber | None:
    """Return the number of that country, or None: then nobody here knows it, and no number must be shown."""
    return emergency_numbers().get(country)
