"""A school week that meets its pattern, made to be spoilt in one place at a time."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from menus.mealpattern.patterns.answer import check_week

Json = dict[str, Any]

VEGETABLES = ("dark_green", "red_orange", "beans_peas_lentils", "starchy", "other")


def food(name: str, credits: Json, kcal: float, fat: float, sodium: float, **more: Any) -> Json:
    """A food with the nutrients that rules read, added sugars among them."""
    nutrients = {"energy_kcal": kcal, "saturated_fat_g": fat, "sodium_mg": sodium, "added_sugars_g": 0}
    return {"food": name, "credits": credits, "nutrients": nutrients, **more}


def lunch(subgroup: str, grains: float = 1.75) -> list[Json]:
    """A K-5 lunch of 580 kcal, 3.5 g of saturated fat (5.4 % of the energy) and 840 mg of sodium."""
    return [
        food("apple slices", {"fruit": 0.5}, 60, 0, 10),
        food("milk, 1%", {"milk": 1}, 100, 1.5, 110, milk_fat="1%", flavored=False),
        food("whole-wheat roll", {"grains": grains}, 160, 0.5, 220, whole_grain_rich=True, dessert=False),
        food("chicken strips", {"meat_alternate": 2}, 180, 1.5, 350),
        food(f"vegetable, {subgroup}", {f"vegetables.{subgroup}": 0.75}, 80, 0, 150),
    ]


def week(**changes: Any) -> Json:
    """Five such lunches, one vegetable subgroup a day."""
    days = [lunch(subgroup) for subgroup in VEGETABLES]
    return {"program": "nslp-lunch", "group": "K-5", "date": "2026-11-30", "days": days, **changes}


def meals(program: str, group: str, foods: list[Json], *, days: int = 5, date: str = "2026-11-30") -> Json:
    """The same meal on each day."""
    return {"program": program, "group": group, "date": date, "days": [deepcopy(foods) for _ in range(days)]}


def plain(name: str, /, **credits: float) -> Json:
    """A food that states no nutrients; in a component's name, __ stands for the dot."""
    return {"food": name, "credits": {key.replace("__", "."): value for key, value in credits.items()}}


def broken(file: Json) -> list[tuple[str, str]]:
    """Rules that are not met, and when."""
    return [(finding["rule"].partition("/")[2], finding["when"]) for finding in check_week(file)["findings"]]


def warned(file: Json) -> list[tuple[str, str]]:
    """The warnings."""
    return [(finding["rule"].partition("/")[2], finding["when"]) for finding in check_week(file)["warnings"]]


def unknown(file: Json) -> list[str]:
    """Rules that could not be told."""
    return [finding["rule"].partition("/")[2] for finding in check_week(file)["unknown"]]
