"""Children who are alike through a week: whether the same trays do for all of them, and which they begin from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from menus.planning.meals.linked import Options, group_of, takes
from menus.planning.meals.part import Chosen
from menus.planning.meals.table import Meal, Stock, Week
from menus.planning.meals.trays import Tray


def alike(week: Week, meals: Sequence[Meal], options: Options, stocks: Sequence[Stock]) -> list[Week]:
    """Return the week in one, or one for each child where some dish on hand may not do for all of them.

    Where nothing runs out the best trays of one child are the best for each that is like it, and take no more dishes.
    """
    for meal in meals:
        if any(takes(tray, meal, stocks) for tray in options[meal.day, meal.name, group_of(week, meal).key]):
            return [replace(week, members=(member,)) for member in week.members]
    return [week]


def begun(kind: Sequence[Week], meals: Sequence[Meal], start: Chosen, stocks: Sequence[Stock]) -> Chosen:
    """Return the trays from which the children of a kind begin.

    Those of one week all have the least that one of them has; of several, who takes more of what is counted is first.
    """
    seats = [(meal, (meal.day, meal.name, group_of(kind[0], meal).key)) for meal in meals]
    if len(kind) == 1:
        return {
            (*seat, member): min((start[*seat, each] for each in kind[0].members), key=_worth)
            for _, seat in seats
            for member in kind[0].members
        }
    members = [member for week in kind for member in week.members]
    taken = {each: sum(takes(start[*seat, each], meal, stocks) for meal, seat in seats) for each in members}
    first = sorted(members, key=lambda each: -taken[each])
    return {(*seat, to): start[*seat, each] for _, seat in seats for to, each in zip(members, first, strict=True)}


def _worth(tray: Tray) -> tuple[bool, int, int, int]:
    return bool(tray.open), len(tray.open), len(tray.extra), tray.cost
