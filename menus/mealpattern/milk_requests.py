"""Who may ask for a drink in place of milk, who signs, and whether the meal can be claimed: by program, case and date.

A missing signature stops a claim and never what a child must not have: that is kept away from the first word on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from menus.mealpattern.hazards import rows
from menus.mealpattern.milk import holds


class Need(StrEnum):
    """Why another drink is served."""

    DISABILITY = "disability"
    PREFERENCE = "preference"  # any reason that is no disability
    OFFERED_TO_ALL = "offered_to_all"


class Drink(StrEnum):
    """What is served, seen from the regulation's table."""

    EQUIVALENT = "equivalent"  # reaches every figure of the table
    NOT_EQUIVALENT = "not_equivalent"  # misses one, or it is not known
    LACTOSE_FREE_MILK = "lactose_free_milk"  # cow's milk


@dataclass(frozen=True, slots=True)
class Request:
    """What a case asks for."""

    asks: tuple[str, ...]
    signs: tuple[str, ...]  # any one of them; empty: nobody needs to
    claimed: bool
    how: str
    source: str
    verified: str


def request(program: str, need: Need, drink: Drink, day: date) -> Request | None:
    """Return who asks and signs; None where no rule is held for the case, and then licensed staff are to be asked."""
    for row in rows("milk_requests.csv"):
        wanted = program in row["programs"].split(";") and row["drink"] == drink and row["need"] in ("any", need)
        if wanted and holds(row, day):
            return Request(
                asks=_people(row["asks"]),
                signs=_people(row["signs"]),
                claimed=row["claimed"] == "yes",
                how=row["how"],
                source=row["source"],
                verified=row["verified"],
            )
    return None


def _people(cell: str) -> tuple[str, ...]:
    return tuple(person for person in cell.split(";") if person and person != "nobody")
