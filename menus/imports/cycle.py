"""A cycle menu out of a sheet: one row a dish. Site, name and first Monday stand beside the file."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import partial
from typing import Any

from menus.imports.cells import Cells
from menus.imports.draft import Action, Draft, doubles
from menus.imports.kind import Column, Kind
from menus.imports.sheet import Row
from menus.models import CycleEntry, CycleMenu, Meal, Recipe, Site, Weekday
from menus.signals import facts_changed

MOST_WEEKS = 26

COLUMNS = (
    Column("week", "Week of the cycle, from 1.", "1", True),
    Column("weekday", "monday, tuesday, …", "monday", True),
    Column("meal", f"One of: {', '.join(Meal.values)}.", "lunch", True),
    Column("recipe", "Short name of a recorded recipe. A meal of several dishes has several rows.", "chili", True),
)

WEEKDAYS = {day.label.lower(): day.label for day in Weekday}

Slot = tuple[int, int, str, str]  # week, weekday, meal, recipe code


def draft_cycle(
    rows: Sequence[Row],
    *,
    site: Site,
    menu: str,
    starts_on: date,
    ends_on: date | None = None,
    pauses: bool = False,
) -> Draft:
    """Draft the menu of that name at the site, or the changes that bring the recorded one into line with the file.

    A dish that the file no longer holds leaves the cycle.
    """
    draft = Draft()
    _check_beside(draft, menu, starts_on, ends_on)
    recipes = set(Recipe.objects.values_list("code", flat=True))
    read = {row.number: _read(Cells(row, draft), recipes) for row in rows}
    slots = {number: slot for number, slot in read.items() if slot}
    for number, other in doubles((number, repr(slot)) for number, slot in slots.items()).items():
        draft.refuse(number, "recipe", f"Row {other} says the same.", "Keep one of the rows.")
    if rows and not draft.problems:
        wanted = list(slots.values())
        _note_gaps(draft, {slot[0] for slot in wanted})
        fields: dict[str, int | date | None] = {"weeks": max(wanted)[0], "starts_on": starts_on, "ends_on": ends_on}
        fields["pauses"] = pauses
        _draft_menu(draft, site, menu, fields)
        _draft_entries(draft, site, menu, wanted)
    return draft


CYCLE = Kind("cycle", "Cycle menu", COLUMNS, draft_cycle)


def _check_beside(draft: Draft, menu: str, starts_on: date, ends_on: date | None) -> None:
    if not menu.strip() or len(menu) > 120:
        draft.refuse(
            0, "name", "The cycle menu needs a name of at most 120 characters.", "Give it one, such as “Autumn”."
        )
    if starts_on.weekday() != Weekday.MONDAY:
        what = f"{starts_on} is no Monday."
        draft.refuse(0, "starts_on", what, "Give the Monday on which week 1 is first served.")
    if ends_on and ends_on < starts_on:
        draft.refuse(0, "ends_on", "The cycle would end before it begins.", "Give a later day, or none.")


def _read(cells: Cells, recipes: set[str]) -> Slot | None:
    week = cells.whole("week", low=1, high=MOST_WEEKS)
    weekday = cells.choice("weekday", WEEKDAYS)
    meal = cells.choice("meal", dict(Meal.choices))
    for field, value in (("weekday", cells.raw("weekday")), ("meal", cells.raw("meal"))):
        if not value:
            cells.refuse(field, "The cell is empty.", "Fill it in; every row needs it.")
    recipe = cells.text("recipe", longest=50, required=True)
    if recipe and recipe not in recipes:
        cells.refuse("recipe", f"No recipe is called “{recipe[:50]}”.", "Import the recipe first, or mend the name.")
    return (week, list(WEEKDAYS).index(weekday), meal, recipe) if cells.sound else None


def _note_gaps(draft: Draft, weeks: set[int]) -> None:
    for week in sorted(set(range(1, max(weeks))) - weeks):
        draft.note(
            0, "week", f"Week {week} has no dish, so nothing is served in it.", "Add its rows if that is a slip."
        )


def _draft_menu(draft: Draft, site: Site, menu: str, fields: dict[str, int | date | None]) -> None:
    stands = CycleMenu.objects.filter(site=site, name=menu).values(*fields).first()
    if stands == fields:
        draft.keep("cycle menu")
        return
    detail = ", ".join(f"{field} {value}" for field, value in fields.items() if value not in (None, False))
    action = Action.CHANGE if stands else Action.CREATE
    draft.step(action, "cycle menu", menu, detail, lambda user: _write_menu(site, menu, fields))


def _write_menu(site: Site, menu: str, fields: dict[str, int | date | None]) -> None:
    cycle = CycleMenu.objects.filter(site=site, name=menu).first() or CycleMenu(site=site, name=menu)
    for field, value in fields.items():
        setattr(cycle, field, value)
    cycle.full_clean()
    cycle.save()
    facts_changed.send(sender=CycleMenu, instance=cycle)


def _draft_entries(draft: Draft, site: Site, menu: str, wanted: list[Slot]) -> None:
    entries = CycleEntry.objects.filter(cycle__site=site, cycle__name=menu)
    stands = {
        (entry["week"], entry["weekday"], entry["meal"], entry["recipe__code"]): entry["pk"]
        for entry in entries.values("pk", "week", "weekday", "meal", "recipe__code")
    }
    gone = {slot: pk for slot, pk in stands.items() if slot not in set(wanted)}
    new = [slot for slot in wanted if slot not in stands]
    draft.keep("dish of the cycle", len(wanted) - len(new))
    if gone:
        detail = "; ".join(map(_words, gone))
        draft.step(Action.END, "dish of the cycle", menu, detail, partial(_remove, list(gone.values())))
    for slot in new:
        draft.step(Action.CREATE, "dish of the cycle", menu, _words(slot), partial(_add, site, menu, slot))


def _words(slot: Slot) -> str:
    week, weekday, meal, recipe = slot
    return f"week {week}, {Weekday(weekday).label}, {meal}: {recipe}"


def _remove(entries: list[int], user: Any) -> None:
    gone = CycleEntry.objects.filter(pk__in=entries)
    cycle = gone[0].cycle
    gone.delete()
    facts_changed.send(sender=CycleMenu, instance=cycle)


def _add(site: Site, menu: str, slot: Slot, user: Any) -> None:
    week, weekday, meal, recipe = slot
    cycle = CycleMenu.objects.get(site=site, name=menu)
    entry = CycleEntry(cycle=cycle, week=week, weekday=weekday, meal=meal, recipe=Recipe.objects.get(code=recipe))
    entry.full_clean()
    entry.save()
    facts_changed.send(sender=CycleMenu, instance=cycle)
