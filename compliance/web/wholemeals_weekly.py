"""Weekly figures of nutrients, child by child, in sentences: for licensed staff, beside what was swapped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from compliance.models import MealPlan
from compliance.web.names import short_names
from compliance.web.wholemeals_said import amount
from menus.models import Meal
from roster.access import visible_classrooms
from roster.models import Child, User


@dataclass(frozen=True, slots=True)
class ChildWeek:
    """What one child's trays of a meal come to over a week."""

    name: str
    classroom: str
    passed: tuple[str, ...]  # figures that the trays pass and the menu keeps
    as_menu: tuple[str, ...]  # figures that the menu passes too
    unknown: tuple[str, ...]
    kept: tuple[str, ...]


def weekly(plan: MealPlan, user: User) -> list[tuple[Meal, list[ChildWeek]]]:
    """Return by meal the children with a tray of their own in the plan's week whom the user may see. Two queries.

    The caller has made sure that the user is licensed staff: what was swapped for whom is theirs to read.
    """
    weeks = plan.result.get("weeks", [])
    rooms = {room.pk: room.name for room in visible_classrooms(user).filter(site=plan.site)} if weeks else {}
    wanted = {row["child"] for week in weeks for row in week["children"] if row["classroom"] in rooms}
    names = short_names(list(Child.objects.filter(pk__in=wanted))) if wanted else {}
    found = [(Meal(week["meal"]), _week(week, names, rooms)) for week in weeks]
    return [(meal, children) for meal, children in found if children]


def _week(week: dict[str, Any], names: Mapping[int, str], rooms: Mapping[int, str]) -> list[ChildWeek]:
    found = [
        ChildWeek(
            name=names[row["child"]],
            classroom=rooms[row["classroom"]],
            passed=_said(row, lambda figure: figure["passed"] == "swap"),
            as_menu=_said(row, lambda figure: figure["passed"] == "menu too"),
            unknown=_said(row, lambda figure: figure["child"] is None),
            kept=_said(row, lambda figure: figure["child"] is not None and not figure["passed"]),
        )
        for row in week["children"]
        if row["child"] in names
    ]
    return sorted(found, key=lambda each: (not each.passed, not each.as_menu, each.classroom, each.name))


def _said(row: dict[str, Any], wanted: Any) -> tuple[str, ...]:
    return tuple(figure_said(figure) for figure in row["figures"] if wanted(figure))


def figure_said(figure: dict[str, Any]) -> str:
    """Return one figure in a sentence: what the trays come to, what is asked, what the menu comes to."""
    asked = f"{_asked(figure)} {figure['unit']}"
    menu = "the menu is not known" if figure["menu"] is None else f"the menu {_shown(figure['menu'])}"
    if figure["child"] is None:
        silent = ", ".join(figure["silent"])
        return f"{figure['what']}: not known, since it is not stated by {silent}. Asked: {asked}; {menu}."
    sentence = f"{figure['what']}: {_shown(figure['child'])}, asked {asked}; {menu}."
    if not figure["passed"]:
        return sentence
    below = figure["least"] is not None and figure["child"] < figure["least"]
    return f"{sentence} {'Below the weekly least' if below else 'Over the weekly limit'}."


def _asked(figure: dict[str, Any]) -> str:
    least, most = figure["least"], figure["most"]
    if least is not None and most is not None:
        return f"{_shown(least)} to {_shown(most)}"
    if most is None:
        return f"at least {_shown(least)}"
    return f"{'less than' if figure['strict'] else 'at most'} {_shown(most)}"


def _shown(value: float) -> str:
    return amount(round(value, 1))
