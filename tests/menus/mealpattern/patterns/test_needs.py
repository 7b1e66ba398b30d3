"""What a child's tray must hold: the daily figures of the law, and no more than the meal offers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from menus.mealpattern.patterns.needs import needs
from menus.mealpattern.patterns.tables import patterns
from menus.mealpattern.patterns.week import Food

DAY = date(2026, 11, 30)


def food(name: str = "dish", **credits: float) -> Food:
    return Food(name, {key.replace("__", "."): Fraction(str(value)) for key, value in credits.items()})


BOTH = (("bake", 1), ("stew", 0.5))
WHOLE = [
    food("bake", meat_alternate=2, grains=1),
    food("salad", vegetables__dark_green=0.5, vegetables__red_orange=0.25),
    food("pear", fruit=0.5),
    food("milk", milk=1),
]


def least(program: str, group: str, foods: list[Food]) -> dict[str, float]:
    found = needs(patterns()[program, group], DAY, foods)
    return {need.measure: round(float(need.asked or 0), 3) for need in found}


@pytest.mark.parametrize(
    ("group", "figures"),
    [
        # 7 CFR 210.10(c), Table 1, the figures of a day (eCFR text dated 2026-04-13; read)
        ("K-5", {"fruit": 0.5, "vegetables": 0.75, "grains": 1, "meat_alternate": 1, "milk": 1}),
        ("9-12", {"fruit": 1, "vegetables": 1, "grains": 2, "meat_alternate": 2, "milk": 1}),
        # 7 CFR 226.20(c)(2) as restated in 210.10(p)(2), Table 7 (read): milk, meat, vegetable, fruit, grain
        ("3-5", {"milk": 0.75, "meat_alternate": 1.5, "vegetables": 0.25, "fruit": 0.25, "grains": 0.5}),
    ],
)
def test_a_school_lunch_needs_the_figures_of_a_day(group: str, figures: dict[str, float]) -> None:
    assert least("nslp-lunch", group, WHOLE) == figures


def test_a_tray_is_asked_for_no_more_than_the_meal_offers_and_the_meal_is_said_to_fall_short() -> None:
    found = {need.measure: need for need in needs(patterns()["nslp-lunch", "K-5"], DAY, WHOLE[:2])}
    assert found["fruit"].falls_short and found["fruit"].least == 0
    assert found["milk"].falls_short and not found["grains"].falls_short
    assert found["vegetables"].least > Fraction("0.74")


def test_a_credit_written_in_decimals_is_enough() -> None:
    """A third of a cup twice and an eighth: 0.33 + 0.33 + 0.12 is three quarters but for what decimals lose."""
    found = {need.measure: need for need in needs(patterns()["nslp-lunch", "K-5"], DAY, [food(vegetables=0.745)])}
    assert not found["vegetables"].falls_short


def test_a_snack_needs_what_the_planned_one_holds_in_full() -> None:
    found = needs(patterns()["cacfp-snack", "3-5"], DAY, [food(grains=0.5), food(fruit=0.5), food(milk=0.25)])
    assert {need.measure: need.unit for need in found} == {"fruit": "cup", "grains": "oz eq"}


def test_a_second_vegetable_may_stand_for_the_fruit() -> None:
    """226.20(a)(3): a vegetable may replace the fruit at lunch; the tray then needs both vegetables."""
    asked = least("cacfp-lunch", "3-5", [food(vegetables__starchy=0.25), food(vegetables__other=0.25)])
    assert asked["vegetables"] == 0.5 and "fruit" not in asked


def test_of_foods_that_stand_in_for_each_other_the_planned_one_is_needed() -> None:
    egg = least("cacfp-breakfast", "3-5", [food(meat_alternate=1), food(grains=0.25)])
    toast = least("cacfp-breakfast", "3-5", [food(grains=0.5)])
    assert "meat_alternate" in egg and "grains" not in egg
    assert "grains" in toast


def test_without_a_pattern_a_tray_needs_what_is_offered() -> None:
    found = needs(None, DAY, WHOLE)
    assert {need.measure: need.least for need in found} == {
        "meat_alternate": 2,
        "grains": 1,
        "vegetables": Fraction(3, 4),
        "fruit": Fraction(1, 2),
        "milk": 1,
    }
    assert not any(need.falls_short for need in found)
    assert needs(None, DAY, []) == ()


def test_what_a_food_brings_to_a_component_holds_its_subgroups() -> None:
    [need] = needs(None, DAY, [food(vegetables=1)])
    assert need.of(food(vegetables__dark_green=0.25, fruit=1)) == Fraction(1, 4)


def test_where_children_choose_a_tray_needs_what_every_choice_brings() -> None:
    """A bake with grain or a stew without: nobody is owed the grain that only some take, and the meal falls short."""
    bake, stew = (replace(food(name, meat_alternate=2, grains=grains), choice="main dish") for name, grains in BOTH)
    found = {need.measure: need for need in needs(patterns()["nslp-lunch", "K-5"], DAY, [bake, stew, *WHOLE[1:]])}
    assert (found["grains"].least, found["grains"].falls_short) == (Fraction(1, 2), True)
    assert (found["meat_alternate"].offered, found["meat_alternate"].falls_short) == (2, False)
