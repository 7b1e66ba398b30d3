"""What the page on meals draws and says of a week: bars, charts, sentences, and what an exchange moves.

The figures held against are those of 7 CFR 210.10(c) Table 1 and (f) for grades K-5, on 30 November 2026.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.web.meals_bars import WIDE, Bar, day_bars, week_bars
from compliance.web.meals_charts import TALL, Chart, charts
from compliance.web.meals_credits import component_words, credit_lines
from compliance.web.meals_moved import moved
from compliance.web.meals_said import Said, counted, measured, told
from menus.mealpattern.patterns.judge import Judgement
from menus.mealpattern.patterns.tables import units
from tests.web.meals_weeks import DAYS, MEAL, MILK, PEARS, SALAD, SANDWICH, judged, less


def bar(bars: list[Bar], what: str) -> Bar:
    return next(each for each in bars if each.what == what)


def chart(found: Judgement, title: str) -> Chart:
    return next(each for each in charts(found.week, DAYS, found.judged) if each.title == title)


def missed(found: Judgement) -> dict[tuple[str, str], Said]:
    return {(each.where, each.what): each for each in told(found, DAYS).missed}


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        ("1/8", "cup", "1/8 cup"),
        ("5/2", "cup", "2 1/2 cups"),
        ("1", "cup", "1 cup"),
        ("0", "cup", "0 cup"),
        ("1/3", "cup", "0.333 cup"),
        ("3/2", "oz eq", "1.5 oz eq"),
        ("7/16", "cup", "7/16 cup"),
        ("1", "components", "1 component"),
        ("10.9423", "% of energy", "10.94 % of energy"),
        ("1110", "mg a meal", "1,110 mg a meal"),
    ],
)
def test_amounts_read_as_a_kitchen_measures(value: str, unit: str, said: str) -> None:
    assert counted(Fraction(value), unit) == said


def test_a_full_day_fills_every_bar() -> None:
    """Grades K-5: 1/2 cup fruit, 3/4 cup vegetables, 1 oz eq grains and meat, 1 cup milk a day."""
    bars = day_bars(judged(MEAL, MEAL, MEAL, MEAL, MEAL).judged, 1)
    assert [each.what for each in bars] == ["fruit", "vegetables", "grains", "meats and meat alternates", "milk"]
    assert all(each.stands == "met" and not each.lacks for each in bars)
    assert bar(bars, "grains").says == "2 of 1 oz eq"


def test_a_short_day_shows_the_gap_up_to_the_figure() -> None:
    found = judged(less(MEAL, MILK), MEAL, MEAL, MEAL, MEAL)
    milk = bar(day_bars(found.judged, 1), "milk")
    assert (milk.stands, milk.filled, milk.lacks) == ("short", 0.0, milk.least)
    assert milk.says == "0 of 1 cup: 1 cup short"
    assert bar(day_bars(found.judged, 2), "milk").stands == "met"


def test_the_upper_figure_stands_on_the_same_bar() -> None:
    """Grains 8 to 9 oz eq a week for K-5; the upper figure only warns."""
    grains = bar(week_bars(judged(MEAL, MEAL, MEAL, MEAL, MEAL).judged), "grains")
    assert grains.stands == "over" and grains.beyond > 0 and grains.least is not None
    assert grains.says == "10 of 8 oz eq: 1 oz eq above the planning figure of 9"


def test_subgroups_are_parts_of_the_vegetables() -> None:
    bars = week_bars(judged(MEAL, MEAL, MEAL, MEAL, MEAL).judged)
    assert {each.what for each in bars if each.is_part} == {
        "dark green vegetables",
        "red and orange vegetables",
        "beans, peas and lentils",
        "starchy vegetables",
        "other vegetables",
    }
    assert bar(bars, "starchy vegetables").says == "0 of 1/2 cup: 1/2 cup short"


def test_what_nobody_says_is_open_and_not_nothing() -> None:
    """Whether the grains are whole grain-rich is not said of any food: the bar may reach to all of them."""
    plain = {key: value for key, value in SANDWICH.items() if key != "whole_grain_rich"}
    share = bar(week_bars(judged(*[[plain, PEARS, SALAD, MILK]] * 5).judged), "whole grain-rich share of the grains")
    assert share.stands == "unknown" and share.opening > 0
    assert share.says == "not known of 80 % of oz eq: not known whether it is enough"


def test_a_trial_leaves_a_mark_where_the_bar_was() -> None:
    before, after = judged(*[MEAL] * 5), judged(less(MEAL, PEARS), *[MEAL] * 4)
    fruit = bar(day_bars(after.judged, 1, before.judged), "fruit")
    assert fruit.was is not None and fruit.was > fruit.filled
    assert bar(day_bars(after.judged, 2, before.judged), "fruit").was is None


@given(st.lists(st.integers(0, 40), min_size=5, max_size=5), st.integers(0, 40))
def test_no_bar_leaves_its_box(fruit: list[int], tried: int) -> None:
    def days(eighths: list[int]) -> Judgement:
        return judged(*[[{**PEARS, "credits": {"fruit": each / 8}}, SANDWICH, SALAD, MILK] for each in eighths])

    before, after = days(fruit), days([tried, *fruit[1:]])
    for each in [*day_bars(after.judged, 1, before.judged), *week_bars(after.judged, before.judged)]:
        places = (each.filled, each.open, each.least, each.most, each.was, each.filled + each.lacks)
        assert all(place is None or 0 <= place <= WIDE for place in places)
        assert (each.lacks > 0) == (each.stands == "short")


def test_every_miss_is_said_once_with_its_days_and_source() -> None:
    short = less(MEAL, MILK)
    found = missed(judged(short, MEAL, short, MEAL, MEAL))
    said = found["Monday, Wednesday", "milk"]
    assert said.says == "1 cup short: 0 cup. The rule: at least 1 cup."
    assert "7 CFR 210.10(c) Table 1" in said.source and said.verified == "read"
    assert found["The week", "milk"].says == "2 cups short: 3 cups. The rule: at least 5 cups."


def test_a_week_that_meets_its_figures_misses_none_of_those() -> None:
    found = missed(judged(*[MEAL] * 5))
    assert {what for _, what in found} == {"beans, peas and lentils", "starchy vegetables"}


def test_over_is_said_by_how_much() -> None:
    """Sodium for K-5 until June 2027: 1,110 mg a meal on average."""
    salty = {**SANDWICH, "nutrients": SANDWICH["nutrients"] | {"sodium_mg": 1000}}
    found = missed(judged(*[[salty, PEARS, SALAD, MILK]] * 5))
    assert found["The week", "sodium"].says == "40 mg a meal over: 1,150 mg a meal. The rule: at most 1,110 mg a meal."


def test_the_wrong_milk_is_a_miss() -> None:
    """Preschool by the child care tables takes no flavored milk before June 2026 and after it: 226.20(a)(1)."""
    found = missed(judged(*[[{**MILK, "flavored": True}]] * 3, program="cacfp-lunch", group="3-5"))
    assert "takes unflavored" in found["Monday, Tuesday, Wednesday", "milk"].says


def test_planning_figures_are_no_misses() -> None:
    found = told(judged(*[MEAL] * 5), DAYS)
    assert [each.what for each in found.planning] == ["grains"]
    assert "A planning figure: at most 9 oz eq." in found.planning[0].says


def test_a_chart_holds_the_days_and_the_figures() -> None:
    energy = chart(judged(*[MEAL] * 5), "Energy")
    assert [column.day for column in energy.columns] == ["Mon", "Tue", "Wed", "Thu", "Fri"]
    assert energy.says == "560 kcal a meal. The rule: at least 550 and at most 650 kcal a meal."
    assert energy.stands == "met" and not any(column.open for column in energy.columns)
    assert [line.says for line in energy.lines] == ["at least 550", "at most 650"]


def test_a_day_that_is_stated_in_part_is_left_open_to_the_top() -> None:
    silent = {**PEARS, "nutrients": {"energy_kcal": None}}
    energy = chart(judged([SANDWICH, silent, SALAD, MILK], MEAL, MEAL, MEAL, MEAL), "Energy")
    monday, tuesday = energy.columns[:2]
    assert energy.stands == "unknown" and monday.height + monday.open == pytest.approx(TALL)
    assert tuesday.open == 0
    assert monday.says == "Monday: 3 of 4 foods state it; those alone come to 500 kcal a meal"
    assert "19 of 20 foods state it" in energy.says


def test_a_nutrient_that_no_food_states_is_never_drawn_as_nothing() -> None:
    """Added sugars have no figure at lunch before July 2027: 210.10(f)(3)."""
    sugars = chart(judged(*[MEAL] * 5), "Added sugars")
    assert all(column.open == TALL and not column.height for column in sugars.columns)
    assert (
        sugars.says == "On average not known: 0 of 20 foods state it. The pattern holds no figure for it on this date."
    )
    assert sugars.lines == ()


def test_a_nutrient_of_which_there_is_none_is_known() -> None:
    none = [{**food, "nutrients": {"added_sugars_g": 0}} for food in MEAL]
    assert not any(column.open for column in chart(judged(*[none] * 5), "Added sugars").columns)


def test_what_moves_is_said_with_what_it_turns() -> None:
    before, after = judged(*[MEAL] * 5), judged(less(MEAL, SALAD), *[MEAL] * 4)
    found = {(each.where, each.what): each for each in moved(before.judged, after.judged, DAYS)}
    monday = found["Monday", "vegetables"]
    assert (monday.before, monday.after, monday.turns, monday.worse) == ("3/4", "0", "met before, short now", True)
    assert found["The week", "energy"].turns == "met before, short now"
    assert ("Tuesday", "vegetables") not in found
    assert found["The week", "red and orange vegetables"].turns == ""


def test_nothing_moves_without_an_exchange() -> None:
    found = judged(*[MEAL] * 5)
    assert moved(found.judged, found.judged, DAYS) == []


def test_credits_read_as_words_in_every_scheme() -> None:
    assert credit_lines({"milk": Fraction(1), "vegetables.red_orange": Fraction(1, 4), "fruit": Fraction(0)}, "us") == [
        "red and orange vegetables: 1/4 cup",
        "milk: 1 cup",
    ]
    for scheme in ("us", "infant", "england"):
        said = [component_words(name) for name in units(scheme)]
        assert len(set(said)) == len(said) and not any("_" in each or "." in each for each in said)


def test_measures_of_a_cup_are_exact() -> None:
    assert [measured(Fraction(n, 8), "cup") for n in (1, 2, 3, 9)] == ["1/8", "1/4", "3/8", "1 1/8"]
