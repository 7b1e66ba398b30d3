"""What a credited recipe counts as in a week: the components of `check_week`, beans in one reading or the other."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from fractions import Fraction

from menus.mealpattern.crediting.totals import Crediting

BEANS_ALTERNATE = "meat_alternate.beans_peas_lentils"
BEANS_VEGETABLE = "vegetables.beans_peas_lentils"
KEYS = {
    "grains_oz_eq": "grains",
    "dark_green_cup": "vegetables.dark_green",
    "red_orange_cup": "vegetables.red_orange",
    "starchy_cup": "vegetables.starchy",
    "other_veg_cup": "vegetables.other",
    "fruit_cup": "fruit",
    "milk_cup": "milk",
}
"""The keys that mean the same in both; those of meats and beans depend on the reading."""


class Beans(StrEnum):
    """What beans, peas and lentils of a dish count as. They count once (7 CFR 210.10(c)(2)(ii)(C), (iv)(E))."""

    ALTERNATE = "meat alternate"
    VEGETABLE = "vegetable"


def week_credits(found: Crediting, beans: Beans) -> dict[str, Fraction]:
    """Return the credits of one serving as a week takes them. The reading of the beans is the caller's to choose."""
    credits = {week: found.credits[key] for key, week in KEYS.items() if found.credits.get(key)}
    meats = found.credits.get("meat_meat_alternate_oz_eq", Fraction(0))
    if beans is Beans.ALTERNATE:
        credits |= {"meat_alternate": meats - found.beans_oz_eq, BEANS_ALTERNATE: found.beans_oz_eq}
    else:
        other = found.if_legume_counted_as_vegetable
        credits["meat_alternate"] = (found.credits if other is None else other).get(
            "meat_meat_alternate_oz_eq", Fraction(0)
        )
        credits[BEANS_VEGETABLE] = found.credits.get("legume_cup", Fraction(0))
    return {key: amount for key, amount in credits.items() if amount}


def readings(meal: Mapping[int, Crediting]) -> dict[int, Beans]:
    """Return how the beans of each dish of one meal are read, by the dish's key.

    Beans count as meat alternate where no other dish of the meal brings as much of one as their own dish does: they
    are then what the meal rests on. Elsewhere they are a vegetable. Of several dishes of beans the one with most of
    them may be the meat alternate, the first of two alike, for beans served twice may be counted once each way
    (Connecticut handout on legumes, read). Which reading to take is the planner's choice; this one is a default.
    """
    with_beans = [key for key, found in meal.items() if found.beans_oz_eq]
    most = max(with_beans, key=lambda key: meal[key].beans_oz_eq, default=None)
    if most is None:
        return {}
    others = [_meats(found) - found.beans_oz_eq for key, found in meal.items() if key != most]
    rests_on_it = _meats(meal[most]) > max(others, default=Fraction(0))
    return {key: Beans.ALTERNATE if key == most and rests_on_it else Beans.VEGETABLE for key in with_beans}


def _meats(found: Crediting) -> Fraction:
    return found.credits.get("meat_meat_alternate_oz_eq", Fraction(0))


def reading_said(name: str, beans: Beans) -> str:
    """Return how the beans of a dish are read, and why."""
    why = (
        "no other dish of the meal brings as much"
        if beans is Beans.ALTERNATE
        else "another dish brings the meat or meat alternate"
    )
    return f"Beans, peas and lentils of “{name}” count as {beans}: {why}."
