"""Weekly figures of nutrients as sums over a child's trays: the same answer as the week's own rules give."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.patterns.amount import Stands
from menus.mealpattern.patterns.judge import judge
from menus.mealpattern.patterns.tables import patterns
from menus.mealpattern.patterns.week import Food, Week
from menus.mealpattern.patterns.weekly import Figure, weekly_figures

LUNCH = patterns()["nslp-lunch", "K-5"]
MONDAY = date(2026, 11, 30)
FIVE = 5


def food(energy: int, fat: int, sodium: int, *, milk: bool = False, name: str = "food") -> Food:
    held = {"energy_kcal": energy, "saturated_fat_g": fat, "sodium_mg": sodium}
    credits = {"milk": Fraction(1)} if milk else {"grains": Fraction(1)}
    return Food(name, credits, {key: Fraction(value) for key, value in held.items()})


def figures(day: date = MONDAY) -> dict[str, Figure]:
    return {each.name: each for each in weekly_figures(LUNCH, day, FIVE)}


def kept(figure: Figure, foods: list[Food], days: int) -> bool:
    total = sum((figure.counted(each) or Fraction(0) for each in foods), Fraction(0))
    return total < figure.most(days) or (total == figure.most(days) and not figure.strict)


def test_the_figures_are_those_of_the_date() -> None:
    """7 CFR 210.10(f): energy, saturated fat, sodium; added sugars and the lower sodium from 1 July 2027."""
    now, later = figures(), figures(date(2027, 9, 6))
    assert {each.rule.measure for each in now.values()} == {"energy_kcal", "saturated_fat_g-milk", "sodium_mg"}
    assert now["nslp-lunch/sodium-week, most"].figure == 1110
    assert later["nslp-lunch/sodium-week, most"].figure == 935
    assert "nslp-lunch/added-sugars-week, most" in later and "nslp-lunch/added-sugars-week, most" not in now


@pytest.mark.parametrize("days", [2, 8])
def test_a_week_that_is_not_judged_has_none(days: int) -> None:
    assert weekly_figures(LUNCH, MONDAY, days) == ()


def test_a_week_before_the_rules_has_none() -> None:
    assert weekly_figures(LUNCH, date(2023, 1, 2), FIVE) == ()


foods = st.builds(food, st.integers(0, 800), st.integers(0, 12), st.integers(0, 1500), milk=st.booleans())


@given(st.lists(st.lists(foods, min_size=1, max_size=3), min_size=FIVE, max_size=FIVE))
def test_a_sum_keeps_its_limit_where_the_weeks_rule_is_kept(days: list[list[Food]]) -> None:
    """Against the judgement of the week, which works with averages and shares."""
    found = judge(Week(LUNCH, MONDAY, tuple(map(tuple, days))))
    eaten = [each for day in days for each in day]
    if not any(each.nutrients["energy_kcal"] for each in eaten):
        return
    missed = {each.rule.id for each in found.judged if each.stands in (Stands.SHORT, Stands.OVER) and not each.day}
    by_rule: dict[str, list[bool]] = {}
    for figure in figures().values():
        by_rule.setdefault(figure.rule.id, []).append(kept(figure, eaten, FIVE))
    for rule, sides in by_rule.items():
        assert all(sides) is (rule not in missed)


def test_milk_is_left_out_of_saturated_fat_where_the_rule_says_so() -> None:
    fat = figures()["nslp-lunch/saturated-fat-week, most"]
    assert fat.counted(food(100, 2, 0, milk=True)) == -1000
    assert fat.counted(food(100, 2, 0)) == 100 * 18 - 1000


def test_what_is_not_stated_is_not_known() -> None:
    bare = Food("bread", {"grains": Fraction(1)}, {"energy_kcal": Fraction(100)})
    assert figures()["nslp-lunch/sodium-week, most"].counted(bare) is None
    assert figures()["nslp-lunch/sodium-week, most"].amount([bare], 1) is None
    assert figures()["nslp-lunch/energy-week, least"].silent([bare, food(1, 1, 1)]) == ()
    assert figures()["nslp-lunch/saturated-fat-week, most"].silent([bare]) == ("bread",)


def test_amounts_are_in_the_unit_of_the_rule() -> None:
    two = [food(500, 5, 1000), food(700, 5, 1200)]
    assert figures()["nslp-lunch/energy-week, most"].amount(two, 2) == 600
    assert figures()["nslp-lunch/saturated-fat-week, most"].amount(two, 2) == Fraction(100 * 90, 1200)
