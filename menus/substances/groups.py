"""Groups of substances that the law of a jurisdiction makes a label name, with the days it holds."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import date
from importlib.resources import files

JURISDICTIONS = ("us", "eu", "uk", "ca", "anz", "codex")


@dataclass(frozen=True, slots=True)
class Group:
    """One line of a jurisdiction's list."""

    jurisdiction: str
    instrument: str
    code: str
    name: str
    substances: tuple[str, ...]
    effective_from: date
    effective_to: date | None
    threshold: str
    source: str
    verified: str

    def in_force(self, on: date) -> bool:
        """Whether the line holds on this day; both ends belong to it."""
        return self.effective_from <= on and (self.effective_to is None or on <= self.effective_to)


def load_groups() -> tuple[Group, ...]:
    """Every line of groups.csv, in its order."""
    with (files("menus.substances") / "data" / "groups.csv").open(encoding="utf-8") as rows:
        return tuple(
            Group(
                jurisdiction=row["jurisdiction"],
                instrument=row["instrument"],
                code=row["group"],
                name=row["name"],
                substances=tuple(row["substances"].split(";")),
                effective_from=date.fromisoformat(row["effective_from"]),
                effective_to=date.fromisoformat(row["effective_to"]) if row["effective_to"] else None,
                threshold=row["threshold"],
                source=row["source"],
                verified=row["verified"],
            )
            for row in csv.DictReader(rows)
        )
