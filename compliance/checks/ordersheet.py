"""A meal's order of work as a cook reads it: one row for what a dish needs at one time, with the cleanings round it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from compliance.checks.dayline import Entry
from compliance.checks.facts import Facts
from menus.kitchen.cleaning import method_names
from menus.models import Action, PlanStep, Site, Surface


@dataclass(frozen=True, slots=True)
class Wash:
    """One cleaning of one piece of equipment."""

    at: datetime
    surface: Surface
    method: str
    minutes: int
    added: bool = False
    moved_from: str = ""

    @property
    def how(self) -> str:
        """The method in words."""
        return method_names().get(self.method, self.method)


@dataclass
class SheetRow:
    """What is done with a dish, or with a piece of equipment, at one time."""

    at: datetime
    until: datetime
    action: Action
    dish: str
    equipment: list[Surface]
    before: list[Wash] = field(default_factory=list)
    after: list[Wash] = field(default_factory=list)
    moved_from: str = ""  # its time and equipment until now, where the row is new

    @property
    def names(self) -> str:
        """The equipment in words."""
        return ", ".join(map(str, self.equipment))

    @property
    def deed(self) -> str:
        """What is done, where it is not plain work on the dish."""
        return "" if self.action is Action.USE else str(self.action.label)


def sheet_rows(
    facts: Facts, site: Site, day: date, meal: str, was: Mapping[int, PlanStep | None] | None = None
) -> list[SheetRow]:
    """Return the meal's order of work in the kitchen of the site on that day, in the order of time.

    `was` tells, by the id of a row of the plan that is only proposed, which row it takes the place of (None: it is
    added). Every cleaning stands with one row: after the use that it follows, or before the one that it makes ready.
    """
    entries = [
        entry
        for entry in facts.lines[site.pk]
        if entry.counts and entry.day == day and entry.step and entry.step.meal == meal
    ]
    rows = _uses(site, [entry for entry in entries if entry.action is not Action.CLEAN], was or {})
    for entry in entries:
        if entry.action is Action.CLEAN and entry.surface:
            _place(_wash(site, entry, was or {}), rows)
    return rows


def in_order(rows: Iterable[SheetRow]) -> list[SheetRow | Wash]:
    """Return the rows and their cleanings one by one, in the order of time."""
    single: list[SheetRow | Wash] = []
    for row in rows:
        single.extend([*row.before, *row.after])
        if row.action is not Action.CLEAN:
            single.append(row)
    return sorted(single, key=lambda each: each.at)


def _uses(site: Site, entries: Iterable[Entry], was: Mapping[int, PlanStep | None]) -> list[SheetRow]:
    rows: dict[tuple[datetime, str, str], SheetRow] = {}
    for entry in entries:
        at = entry.at.astimezone(site.zone)
        dish = entry.serving.recipe.name if entry.serving else ""
        minutes = entry.step.minutes if entry.step else 0
        until = at + timedelta(minutes=minutes)
        row = rows.setdefault((at, entry.action.value, dish), SheetRow(at, until, entry.action, dish, []))
        row.until = max(row.until, until)
        row.equipment.extend(each for each in entry.surfaces if each not in row.equipment)
        old = was.get(entry.step.pk) if entry.step else None
        if old is not None:
            row.moved_from = f"{old.at:%H:%M}, {old.surface}"
    return sorted(rows.values(), key=lambda row: (row.at, row.dish))


def _wash(site: Site, entry: Entry, was: Mapping[int, PlanStep | None]) -> Wash:
    assert entry.surface and entry.step
    old = was.get(entry.step.pk)
    return Wash(
        at=entry.at.astimezone(site.zone),
        surface=entry.surface,
        method=entry.method,
        minutes=entry.step.minutes,
        added=entry.step.pk in was and old is None,
        moved_from=f"{old.at:%H:%M}, {old.surface}" if old else "",
    )


def _place(wash: Wash, rows: list[SheetRow]) -> None:
    there = [row for row in rows if wash.surface in row.equipment]
    earlier = [row for row in there if row.at <= wash.at]
    later = [row for row in there if row.at > wash.at]
    if later and (wash.added or not earlier):
        later[0].before.append(wash)
    elif earlier:
        earlier[-1].after.append(wash)
    else:
        at = wash.at
        alone = SheetRow(at, at + timedelta(minutes=wash.minutes), Action.CLEAN, "", [wash.surface])
        alone.after.append(wash)
        rows.append(alone)
        rows.sort(key=lambda row: (row.at, row.dish))
