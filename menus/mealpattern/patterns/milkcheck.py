"""Whether the milk of a week is one that its program takes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from menus.mealpattern.milk import MilkTypes, milk_types
from menus.mealpattern.patterns.measure import amount_of
from menus.mealpattern.patterns.week import Food, Week


def wrong_milk(week: Week) -> Iterator[dict[str, Any]]:
    """Yield a finding for each milk whose fat or flavor the program does not take on that date."""
    allowed = _allowed(week)
    if allowed is None:
        return
    for day, food in _milks(week):
        if food.milk_fat and food.milk_fat not in allowed.fats:
            yield _finding(week, day, food, food.milk_fat, " or ".join(allowed.fats), "fat level", allowed)
        if not allowed.flavored and (food.tags.get("flavored") or food.product == "flavored_milk"):
            yield _finding(week, day, food, "flavored", "unflavored", "flavor", allowed)


def milk_said(week: Week) -> Iterator[dict[str, Any]]:
    """Yield what could not be judged because the milk does not say what it is."""
    allowed = _allowed(week)
    silent = {day for day, food in _milks(week) if food.milk_fat is None}
    if allowed and silent:
        yield {
            "rule": _rule(week),
            "what": "kind of milk",
            "says": f"the milk of day {', '.join(map(str, sorted(silent)))} does not say its fat (“milk_fat”); "
            f"{' or '.join(allowed.fats)} is taken on that date{'; ' + allowed.note if allowed.note else ''}",
            "source": allowed.source,
            "verified": allowed.verified,
        }


def _allowed(week: Week) -> MilkTypes | None:
    return milk_types(week.pattern.program, week.pattern.group, week.date)


def _milks(week: Week) -> Iterator[tuple[int, Food]]:
    return ((day, food) for day, food in week.numbered() if amount_of(food, "milk"))


def _rule(week: Week) -> str:
    return f"{week.pattern.file}/milk-type"


def _finding(
    week: Week, day: int, food: Food, found: str, needed: str, unit: str, allowed: MilkTypes
) -> dict[str, Any]:
    return {
        "rule": _rule(week),
        "when": f"day {day}",
        "day": day,
        "food": food.name,
        "is": "other",
        "found": found,
        "needed": needed,
        "comparison": "one of",
        "unit": unit,
        "says": f"Day {day}: “{food.name}” is {found} milk; the program takes {needed} on that date.",
        "note": allowed.note or None,
        "computed": False,
        "source": allowed.source,
        "verified": allowed.verified,
    }
