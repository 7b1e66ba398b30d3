"""The day's balance as advice: what is there, what comes later, what is lacking, and what nobody knows."""

from __future__ import annotations

import csv
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.balance import Advice, BalanceFood, balance
from menus.mealpattern.colours import COLOURS, colours_of

OATS = BalanceFood("oatmeal", {"grains": 1.0})
CARROTS = BalanceFood("carrot sticks", {"vegetables.red_orange": 0.25}, frozenset({"orange"}))
BEANS = BalanceFood("green beans", {"vegetables.other": 0.25}, frozenset({"green"}))
BERRIES = BalanceFood("strawberries", {"fruit": 0.5}, frozenset({"red"}))
EGG = BalanceFood("egg", {"meat_alternate": 2.0})
MILK = BalanceFood("1% milk", {"milk": 0.75})
UNKNOWN = BalanceFood("casserole", {})


def found(what: str, *foods: BalanceFood, later: tuple[BalanceFood, ...] = ()) -> Advice:
    return next(each for each in balance(foods, later) if each.what == what)


def test_a_whole_day_lacks_nothing() -> None:
    advice = balance([OATS, CARROTS, BEANS, BERRIES, EGG, MILK])
    assert [each.what for each in advice] == ["food groups", "colors", "milk"]
    assert not any(each.lacks for each in advice)


def test_each_lack_is_named() -> None:
    assert found("food groups", OATS).lacks == ("fruit", "vegetables", "meat or a meat alternate", MILK_WORDS)
    assert found("colors", OATS).lacks == COLOURS
    assert found("milk", OATS).lacks == (MILK_WORDS,)


MILK_WORDS = "milk or its alternative"


def test_what_comes_later_in_the_day_answers_for_what_lacks() -> None:
    milk = found("milk", OATS, later=(MILK,))
    assert not milk.lacks
    assert milk.says == "Later that day: milk or its alternative."
    assert found("milk", MILK, later=(MILK,)).says == "Here: milk or its alternative."
    assert balance([OATS], earlier=[MILK])[2].says == "Earlier that day: milk or its alternative."


def test_dark_green_credits_are_green_whatever_the_name_says() -> None:
    assert "green" not in found("colors", BalanceFood("lasagna", {"vegetables.dark_green": 0.125})).lacks


def test_a_red_or_orange_credit_answers_for_one_of_the_two_and_not_for_both() -> None:
    sauce = BalanceFood("sauce", {"vegetables.red_orange": 0.5})
    assert found("colors", sauce, BEANS).lacks == ("orange or red (one of them is there; the plan does not say which)",)
    assert found("colors", sauce, BEANS, BERRIES).lacks == ()


@pytest.mark.parametrize(
    "key", ["meat_alternate", "meat_alternate.beans_peas_lentils", "vegetables.beans_peas_lentils"]
)
def test_beans_are_protein_food_by_either_credit(key: str) -> None:
    assert "meat or a meat alternate" not in found("food groups", BalanceFood("beans", {key: 0.5})).lacks


def test_what_nobody_knows_is_named_and_not_taken_for_nothing() -> None:
    assert "“casserole”" in found("food groups", OATS, UNKNOWN).says
    assert "casserole" not in found("milk", MILK, UNKNOWN).says  # nothing is lacking there


def test_nothing_planned_is_said() -> None:
    assert found("milk").says == "Not found on the day: milk or its alternative."


def test_every_row_says_where_it_comes_from() -> None:
    for name in ("balance.csv", "food_colours.csv"):
        with (files("menus.mealpattern") / "data" / name).open(encoding="utf-8") as lines:
            assert all(row["source"] and row["verified"] in ("read", "memory") for row in csv.DictReader(lines))


@pytest.mark.parametrize(
    ("name", "colours"),
    [
        ("Green beans, steamed", {"green"}),
        ("Peas and carrots", {"green", "orange"}),
        ("Cherry tomatoes, halved", {"red"}),
        ("Orange slices", {"orange"}),
        ("Orange bell pepper strips", {"orange"}),
        ("Red apple", {"red"}),
        ("Apple slices", set()),
        ("Chickpea curry", set()),
        ("Orange chicken", set()),
        ("Carrot cake", set()),
        ("Black-eyed peas", set()),
        ("Beet greens", {"green"}),
        ("", set()),
    ],
)
def test_names_tell_their_colors(name: str, colours: set[str]) -> None:
    assert colours_of(name) == colours


@given(st.lists(st.sampled_from([OATS, CARROTS, BEANS, BERRIES, EGG, MILK, UNKNOWN])), st.sampled_from([CARROTS, MILK]))
def test_one_food_more_never_lacks_more(foods: list[BalanceFood], more: BalanceFood) -> None:
    fewer, after = balance(foods), balance([*foods, more])
    assert all(set(b.lacks) <= set(a.lacks) for a, b in zip(fewer, after, strict=True))
