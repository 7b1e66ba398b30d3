"""Worked examples of crediting from published guides: one ingredient, one serving, the published answer."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from menus.mealpattern.crediting.jsonl import answer
from menus.mealpattern.crediting.ways import all_ways

EXAMPLES = [
    # id of the example, ingredient, servings, published credit, source
    ("C25", ("enriched flour", "12 g", ""), 1, {"grains_oz_eq": 0.75}, "state worksheet for grain recipes, about 2012"),
    ("C27", ("whole wheat bread", "34 g", ""), 1, {"grains_oz_eq": 1.0}, "Grains: Guide to Crediting, about 2014-2016"),
    ("C29 dry", ("macaroni, dry", "1 oz", ""), 1, {"grains_oz_eq": 1.0}, "California CDSS, about 2023"),
    ("C29 cooked", ("macaroni, cooked", "", "1/2 cup"), 1, {"grains_oz_eq": 1.0}, "California CDSS, about 2023"),
    ("C31", ("whole grain-rich roll", "28 g", ""), 1, {"grains_oz_eq": 1.0}, "Connecticut CSDE, 2021"),
    ("C33", ("whole grain-rich roll", "7 g", ""), 1, {"grains_oz_eq": 0.25}, "Connecticut CSDE, 2021: smallest amount"),
    ("C33 below", ("whole grain-rich roll", "6 g", ""), 1, {}, "Connecticut CSDE, 2021: smallest amount"),
    (
        "C35",
        ("ground beef, raw, 15% fat", "1.34 oz", ""),
        1,
        {"meat_oz_eq": 1.0, "meat_meat_alternate_oz_eq": 1.0},
        "state menu template, about 2014-2018",
    ),
    ("C41", ("dried fruit", "", "1/4 cup"), 1, {"fruit_cup": 0.5}, "state menu template; 7 CFR 210.10(c)(2)(i)"),
    ("C43", ("romaine", "", "1/4 cup"), 1, {"dark_green_cup": 0.125, "vegetable_cup": 0.125}, "state menu template"),
    ("C45", ("whole wheat hamburger bun", "2 oz", ""), 1, {"grains_oz_eq": 2.0}, "state menu template"),
    (
        "C47",
        ("collard greens, cooked", "", "1/2 cup"),
        1,
        {"dark_green_cup": 0.5, "vegetable_cup": 0.5},
        "School Nutrition, January 2013",
    ),
    (
        "C51 and C53, beef and cheese",
        ("ground beef, 80/20", "8 lb", ""),
        91,
        {"meat_oz_eq": 1.0, "meat_meat_alternate_oz_eq": 1.0},
        "California School Nutrition Association, 2012: 94.4 oz",
    ),
]


@pytest.mark.parametrize(
    ("ingredient", "servings", "published"),
    [row[1:4] for row in EXAMPLES],
    ids=[f"{row[0]}, {row[4]}" for row in EXAMPLES],
)
def test_example(ingredient: tuple[str, str, str], servings: int, published: dict[str, float]) -> None:
    """The credit is the published one to the step."""
    name, weight, measure = ingredient
    row = {"servings": servings, "ingredients": [{"name": name, "weight": weight, "measure": measure}]}
    assert answer(row)["credits"] == published


def test_burrito_filling_with_beans_either_way() -> None:
    """C53: 94.4 oz of beef, 48 of cheese, 41 quarter-cups of beans for 91: 2 oz eq, or 1.5 and no vegetable."""
    row: dict[str, Any] = {
        "servings": 91,
        "ingredients": [
            {"name": "ground beef, 80/20", "weight": "8 lb"},
            {"name": "cheddar cheese, low-fat", "weight": "3 lb"},
            {"name": "refried beans", "measure": "10 1/4 cups"},
        ],
    }
    told = answer(row)
    assert told["credits"]["meat_meat_alternate_oz_eq"] == 2.0
    assert told["credits_if_legume_counted_as_vegetable"] == {
        "meat_oz_eq": 1.0,
        "meat_alternate_oz_eq": 0.5,
        "meat_meat_alternate_oz_eq": 1.5,
    }


RATES = [
    # food, form, published figure as cups or oz eq of credit in one unit, source
    ("carrots", "frozen", "lb", Fraction("9.87") / 4, "C01, South Dakota: 9.87 quarter-cups a pound"),
    ("green_beans", "", "no 10", Fraction(100, 4) / Fraction("2.3"), "C09: 2.3 cans for 100 quarter-cups"),
    ("potato_products", "crinkle", "lb", Fraction(100, 4) / 8, "C07: 8 lb for 100 quarter-cups"),
    ("corn", "cob", "lb", Fraction("2.44") / 2, "C11: 2.44 half-cups a pound"),
    ("corn", "vacuum", "no 10", Fraction(100, 4) / 3, "C05: 3 cans for 100 quarter-cups"),
    ("winter_squash", "acorn", "lb", Fraction(1), "C13: two quarter-cups of an 8 oz squash"),
    ("tomatoes", "", "lb", Fraction("7.6") / 4, "C15: 7.6 quarter-cups a pound, diced"),
    ("tomatoes", "sliced", "lb", Fraction("8.53") / 4, "C17: 8.53 quarter-cups a pound, sliced"),
    ("artichokes", "bottom", "no 300", Fraction("5.97") / 4, "C21: 5.97 quarter-cups a can"),
    ("artichokes", "frozen", "lb", Fraction(10, 4), "C23: 10 quarter-cups a pound"),
    ("black_beans", "", "no 10", Fraction("27.8") / 4, "Food Buying Guide 2012: 27.80 quarter-cups a can, heated"),
    ("black-eyed_peas", "", "no 10", Fraction("37.7") / 4, "Food Buying Guide 2012: 37.70 quarter-cups a can"),
    ("chickpeas", "", "no 10", Fraction(42, 4), "Food Buying Guide 2012: 42.00 quarter-cups a can"),
    ("ground_beef", "80 20", "lb", Fraction("11.8"), "C51: 11.8 oz a pound"),
]


@pytest.mark.parametrize(
    ("food", "form", "unit", "published"), [row[:4] for row in RATES], ids=[row[4] for row in RATES]
)
def test_yield(food: str, form: str, unit: str, published: Fraction) -> None:
    """A yield of the table is the published one, to the rounding of the published figure."""
    base, per = ("oz", 16) if unit == "lb" else (unit, 1)
    words = frozenset(form.split())
    way = next(way for way in all_ways() if way.food == food and way.unit == base and way.fits(words))
    assert way.rate * per == pytest.approx(published, rel=0.003)


def test_crinkle_cut_fries_to_buy() -> None:
    """C07 read backwards: 60.8 lb serve 380 half-cups."""
    row = {
        "servings": 380,
        "ingredients": [{"name": "french fries, crinkle cut, frozen", "weight": "60.8 lb"}],
    }
    assert answer(row)["credits"] == {"starchy_cup": 0.5, "vegetable_cup": 0.5}
