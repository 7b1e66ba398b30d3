"""A pattern of another country in the same form: school lunch in England, by portions and not by cups.

Source: The Requirements for School Food Regulations 2014, Schedule 3, as the Department for Education's leaflet sums it
up.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.menus.mealpattern.patterns.weeks import Json, broken, meals, plain

STARCHY, FRUITS, VEGETABLES = ("rice", "potatoes", "pasta"), ("apple", "pear", "plum"), ("peas", "carrots", "kale")


def week() -> Json:
    """A week that has all of it."""
    file = meals("england-lunch", "primary", [])
    for number, day in enumerate(file["days"]):
        day += [
            plain(STARCHY[number % 3], starchy=1) | {"wholegrain": number == 1, "cooked_in_fat": number == 2},
            plain(VEGETABLES[number % 3], vegetables=1),
            plain(FRUITS[number % 3], fruit=1, fruit_dessert=int(number < 2)),
            plain("chicken", protein__meat=1) if number < 3 else plain("bean stew", protein=1),
            plain("yoghurt", dairy=1),
        ]
    return file


def test_a_whole_week() -> None:
    assert broken(week()) == []


@pytest.mark.parametrize(
    ("day", "number", "spoilt", "found"),
    [
        (0, 1, {"credits": {}}, [("vegetables-day", "day 1")]),
        (3, 2, {"credits": {}}, [("fruit-day", "day 4")]),
        (1, 2, {"credits": {"fruit": 1}}, [("fruit-dessert-week", "week")]),
        (1, 0, {"wholegrain": False}, [("wholegrain-week", "week")]),
        (0, 2, {"credits": {"fruit_dessert": 1}}, [("fruit-day", "day 1")]),
        (0, 3, {"credits": {"protein": 1}}, [("meat-days-week", "week")]),
        (2, 2, {"food": "apple"}, [("fruit-kinds-week", "week")]),
        (2, 0, {"food": "rice"}, [("starchy-kinds-week", "week")]),
        (4, 4, {"credits": {}}, [("dairy-day", "day 5")]),
        (0, 0, {"credits": {"starchy": 1, "fried": 3}}, [("fried-week", "week")]),
        (0, 0, {"credits": {"starchy": 1, "pastry": 3}}, [("pastry-week", "week")]),
    ],
)
def test_one_food_spoilt(day: int, number: int, spoilt: Json, found: list[tuple[str, str]]) -> None:
    changed = week()
    changed["days"][day][number] |= spoilt
    assert broken(changed) == found


@pytest.mark.parametrize(("group", "found"), [("primary", [("meat-product-week", "week")]), ("secondary", [])])
def test_meat_products_by_age(group: str, found: list[Any]) -> None:
    """Once a week in primary schools, twice in secondary schools."""
    changed = week() | {"group": group}
    for day in changed["days"][:2]:
        day[3]["meat_product"] = True
    assert broken(changed) == found


def test_starchy_food_cooked_in_fat_on_two_days_at_most() -> None:
    changed = week()
    changed["days"][3][0]["cooked_in_fat"] = True
    assert broken(changed) == []
    changed["days"][4][0]["cooked_in_fat"] = True
    assert broken(changed) == [("starchy-fried-week", "week")]


def test_wholegrain_that_nobody_speaks_of_is_not_missing() -> None:
    """Of a grain that does not say whether it is wholegrain nobody knows."""
    changed = week()
    for day in changed["days"]:
        day[0].pop("wholegrain", None)
    assert broken(changed) == []
