"""A calendar out of a sheet: one row for each stretch of days without meals, at one site or at all."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft, doubles
from menus.imports.kind import Column, Kind
from menus.imports.sheet import Row
from menus.models import Closure, Meal, Site
from menus.services.calendar import LONGEST, record_closure

ALL = "all"
"""What stands in the column of the site where a row is about all of them."""

COLUMNS = (
    Column("site", f"Short name of the site; “{ALL}” for all sites.", "ferrowick", True),
    Column("first_day", "First day without these meals, YYYY-MM-DD.", "2026-12-21", True),
    Column("last_day", "Last day, YYYY-MM-DD. Empty: that one day.", "2027-01-01", omissible=True),
    Column(
        "meals",
        f"The meals that are not served, with semicolons between: {'; '.join(Meal.values)}. Empty: no meal is served.",
        "",
        omissible=True,
    ),
    Column("reason", "As people call it. Everybody who sees the menu reads it.", "winter break", True),
)


@dataclass(frozen=True, slots=True)
class Said:
    """What a row says."""

    site: str  # code, or ALL
    first_day: date
    last_day: date
    meals: tuple[str, ...]
    reason: str


def draft_closures(rows: Sequence[Row], *, sites: Collection[Site] | None = None, everywhere: bool = True) -> Draft:
    """Draft the entries of the calendar; `sites` are those that the file may speak of (None: any).

    An entry on record that begins on the same day at the same site is changed. None is taken back: a file that lacks a
    day says nothing of it. `everywhere` tells whether rows about all sites are taken.
    """
    draft = Draft()
    known = {site.code: site for site in (Site.objects.all() if sites is None else sites)}
    read = {row.number: _read(Cells(row, draft), known, everywhere=everywhere) for row in rows}
    said = {number: each for number, each in read.items() if each}
    for number, other in doubles((number, f"{each.site} {each.first_day}") for number, each in said.items()).items():
        what = f"Row {other} begins on the same day at the same place."
        draft.refuse(number, "first_day", what, "Put both into one row, or mend the day.")
    if not draft.problems:
        stands = {(each.site_id, each.first_day): each for each in Closure.objects.newest()}
        for each in said.values():
            _draft_entry(draft, each, known.get(each.site), stands)
    return draft


CLOSURES = Kind("closures", "Calendar: days without meals", COLUMNS, draft_closures)


def _read(cells: Cells, sites: dict[str, Site], *, everywhere: bool) -> Said | None:
    code = cells.text("site", longest=50, required=True)
    if code.casefold() == ALL and ALL not in sites:
        code = ALL
        if not everywhere:
            cells.refuse("site", "The row is about all sites, and not all of them are yours.", "Name one site a row.")
    elif code and code not in sites:
        mend = f"Write one of: {', '.join(sorted(sites)[:20]) or 'none yet'}{f'; or {ALL}' if everywhere else ''}."
        cells.refuse("site", f"None of your sites has the code “{code[:50]}”.", mend)
    first = cells.day("first_day", required=True)
    last = cells.day("last_day") or first
    meals = _meals(cells)
    reason = cells.text("reason", longest=120, required=True)
    if first and last and not first <= last <= first + LONGEST:
        mend = "Give a last day on or after the first, within a year of it."
        cells.refuse("last_day", f"{last} does not fit the first day, {first}.", mend)
    return Said(code, first, last, meals, reason) if cells.sound and first and last else None


def _meals(cells: Cells) -> tuple[str, ...]:
    named = {part.strip().casefold() for part in cells.raw("meals").split(";") if part.strip()}
    if strange := sorted(named - set(Meal.values)):
        mend = f"Write some of: {'; '.join(Meal.values)}. Empty means that no meal is served."
        cells.refuse("meals", f"“{strange[0][:40]}” is no meal.", mend)
    return tuple(meal for meal in Meal.values if not named or meal in named)


def _draft_entry(draft: Draft, said: Said, site: Site | None, stands: dict[tuple[int | None, date], Closure]) -> None:
    held = stands.get((site.pk if site else None, said.first_day))
    if held and (held.last_day, tuple(held.meals), held.reason) == (said.last_day, said.meals, said.reason):
        draft.keep("entry of the calendar")
        return
    detail = _told(said.first_day, said.last_day, Closure(meals=list(said.meals), reason=said.reason).words)
    detail += f"; so far {_told(held.first_day, held.last_day, held.words)}" if held else ""
    action = Action.CHANGE if held else Action.CREATE
    draft.step(action, "entry of the calendar", said.site, detail, partial(_write, said, site, held))


def _told(first: date, last: date, words: str) -> str:
    return f"{first}: {words}" if first == last else f"{first} to {last}: {words}"


def _write(said: Said, site: Site | None, held: Closure | None, user: Any) -> None:
    record_closure(
        site=site,
        first_day=said.first_day,
        last_day=said.last_day,
        meals=list(said.meals),
        reason=said.reason,
        recorded_by=user,
        replaces=held,
    )
