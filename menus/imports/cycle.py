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
from menus.models.cycle import MOST_CHOICE
from menus.signals import facts_changed
from menus.substances.names import comparable

MOST_WEEKS = 26

COLUMNS = (
    Column("week", "Week of the cycle, from 1.", "1", True),
    Column("weekday", "monday, tuesday, …", "monday", True),
    Column("meal", f"One of: {', '.join(Meal.values)}.", "lunch", True),
    Column("recipe", "Short name of a recorded recipe. A meal of several dishes has several rows.", "chili", True),
    Column(
        "choice",
        "What it is one choice of: of the dishes of a meal with the same words here a child takes one. Empty: every "
        "child is served it.",
        "main dish",
        omissible=True,
    ),
)

WEEKDAYS = {day.label.lower(): day.label for day in Weekday}

Slot = tuple[int, int, str, str]  # week, weekday, meal, recipe code
Slots = dict[Slot, str]  # with what each is one choice of


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
    for number, other in doubles((number, repr(slot)) for number, (slot, _) in slots.items()).items():
        draft.refuse(number, "recipe", f"Row {other} names the same dish.", "Keep one of the rows.")
    _note_single_choices(draft, slots)
    if rows and not draft.problems:
        wanted = dict(slots.values())
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


def _read(cells: Cells, recipes: set[str]) -> tuple[Slot, str] | None:
    week = cells.whole("week", low=1, high=MOST_WEEKS)
    weekday = cells.choice("weekday", WEEKDAYS)
    meal = cells.choice("meal", dict(Meal.choices))
    for field, value in (("weekday", cells.raw("weekday")), ("meal", cells.raw("meal"))):
        if not value:
            cells.refuse(field, "The cell is empty.", "Fill it in; every row needs it.")
    recipe = cells.text("recipe", longest=50, required=True)
    if recipe and recipe not in recipes:
        cells.refuse("recipe", f"No recipe is called “{recipe[:50]}”.", "Import the recipe first, or mend the name.")
    choice = " ".join(cells.text("choice", longest=MOST_CHOICE).split())
    return ((week, list(WEEKDAYS).index(weekday), meal, recipe), choice) if cells.sound else None


def _note_single_choices(draft: Draft, slots: dict[int, tuple[Slot, str]]) -> None:
    """Note where there is nothing to choose: a slip in the word makes two choices of one."""
    rows: dict[tuple[int, int, str, str], list[int]] = {}
    for number, ((week, weekday, meal, _), choice) in slots.items():
        if choice:
            rows.setdefault((week, weekday, meal, comparable(choice)), []).append(number)
    for (*_, choice), [number, *others] in rows.items():
        if not others:
            what = f"No other dish of this meal is one choice of “{choice}”, so every child is served it."
            draft.note(number, "choice", what, "Write the same words for each dish that is offered instead.")


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


def _draft_entries(draft: Draft, site: Site, menu: str, wanted: Slots) -> None:
    entries = CycleEntry.objects.filter(cycle__site=site, cycle__name=menu).select_related("recipe")
    stands = {(entry.week, entry.weekday, entry.meal, entry.recipe.code): entry for entry in entries}
    gone = {slot: entry.pk for slot, entry in stands.items() if slot not in wanted}
    new = [slot for slot in wanted if slot not in stands]
    marked = [slot for slot, choice in wanted.items() if slot in stands and stands[slot].choice != choice]
    draft.keep("dish of the cycle", len(wanted) - len(new) - len(marked))
    if gone:
        detail = "; ".join(map(_words, gone))
        draft.step(Action.END, "dish of the cycle", menu, detail, partial(_remove, list(gone.values())))
    for slot in marked:
        detail = _words(slot, wanted[slot] or "no choice")
        draft.step(Action.CHANGE, "dish of the cycle", menu, detail, partial(_mark, stands[slot].pk, wanted[slot]))
    for slot in new:
        detail = _words(slot, wanted[slot])
        draft.step(Action.CREATE, "dish of the cycle", menu, detail, partial(_add, site, menu, slot, wanted[slot]))


def _words(slot: Slot, choice: str = "") -> str:
    week, weekday, meal, recipe = slot
    return f"week {week}, {Weekday(weekday).label}, {meal}: {recipe}{f' ({choice})' if choice else ''}"


def _remove(entries: list[int], user: Any) -> None:
    gone = CycleEntry.objects.filter(pk__in=entries)
    cycle = gone[0].cycle
    gone.delete()
    facts_changed.send(sender=CycleMenu, instance=cycle)


def _mark(pk: int, choice: str, user: Any) -> None:
    entry = CycleEntry.objects.select_related("cycle").get(pk=pk)
    entry.choice = choice
    entry.full_clean()
    entry.save()
    facts_changed.send(sender=CycleMenu, instance=entry.cycle)


def _add(site: Site, menu: str, slot: Slot, choice: str, user: Any) -> None:
    week, weekday, meal, recipe = slot
    cycle = CycleMenu.objects.get(site=site, name=menu)
    dish = Recipe.objects.get(code=recipe)
    entry = CycleEntry(cycle=cycle, week=week, weekday=weekday, meal=meal, recipe=dish, choice=choice)
    entry.full_clean()
    entry.save()
    facts_changed.send(sender=CycleMenu, instance=cycle)
