"""Published recipes and rows in the words of a week: what one serving of them brings to a day.

Sources beside each check. Recipes: USDA Recipes for Schools and a child-care recipe with their printed credits, as they
stand with their publishers in tests/menus/mealpattern/crediting/recipes.jsonl.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from menus.mealpattern.crediting.grains import is_dessert, whole_grain_rich, whole_share
from menus.mealpattern.crediting.recipe import recipe_of
from menus.mealpattern.crediting.totals import credit
from menus.mealpattern.crediting.weekkeys import Beans, week_credits

RECIPES = Path(__file__).parents[1] / "menus" / "mealpattern" / "crediting" / "recipes.jsonl"
ROWS = [json.loads(line) for line in RECIPES.read_text(encoding="utf-8").splitlines()]
WEEK = {
    "dark_green_cup": "vegetables.dark_green",
    "red_orange_cup": "vegetables.red_orange",
    "other_veg_cup": "vegetables.other",
    "starchy_cup": "vegetables.starchy",
    "fruit_cup": "fruit",
    "grains_oz_eq": "grains",
}
TWICE = [row for row in ROWS if row.get("published_if_legume_counted_as_vegetable") and not row["explained"]]


def credits(row: dict[str, Any], beans: Beans) -> dict[str, Fraction]:
    return week_credits(credit(recipe_of(row)), beans)


@pytest.mark.parametrize("row", TWICE, ids=[row["id"] for row in TWICE])
def test_both_printed_readings_of_beans(row: dict[str, Any]) -> None:
    """Beans as meat alternate and as vegetable, each as printed, to 1/8 cup and 1/4 oz eq; never both at once."""
    alternate, vegetable = (credits(row, reading) for reading in (Beans.ALTERNATE, Beans.VEGETABLE))
    printed = row["published_if_legume_counted_as_vegetable"]
    assert "vegetables.beans_peas_lentils" not in alternate
    assert "meat_alternate.beans_peas_lentils" not in vegetable
    if "legume_cup" in printed:
        assert abs(
            vegetable.get("vegetables.beans_peas_lentils", 0) - Fraction(str(printed["legume_cup"]))
        ) <= Fraction(1, 8)
    meats = sum(amount for key, amount in alternate.items() if key.startswith("meat_alternate"))
    as_printed = max(row["published"].get(key, 0) for key in ("meat_meat_alternate_oz_eq", "meat_alternate_oz_eq"))
    assert not as_printed or abs(meats - Fraction(str(as_printed))) <= Fraction(1, 4)
    for key, name in WEEK.items():
        if key in row["published"]:
            assert abs(alternate.get(name, 0) - Fraction(str(row["published"][key]))) <= Fraction(1, 4)


def test_there_are_recipes_with_both_readings() -> None:
    """So that the check above checks something."""
    assert len(TWICE) >= 3


@pytest.mark.parametrize(
    ("lines", "rich"),
    [
        # Exhibit A, note 1 (state reproductions): an ounce equivalent of 16 g is whole grain-rich with 8 g whole and
        # 8 g enriched, and with 16 g whole.
        ((("whole wheat flour", "8 g"), ("enriched flour", "8 g")), True),
        ((("whole wheat flour", "16 g"),), True),
        ((("whole wheat flour", "7 g"), ("enriched flour", "9 g")), False),
    ],
)
def test_half_of_the_grain_is_enough(lines: tuple[tuple[str, str], ...], rich: bool) -> None:
    """7 CFR 210.2, whole grain-rich: 50 to 100 percent whole, the rest enriched."""
    row = {"servings": 1, "ingredients": [{"name": name, "weight": weight} for name, weight in lines]}
    assert whole_grain_rich(credit(recipe_of(row)).lines)[0] is rich


@pytest.mark.parametrize(
    ("name", "dessert"),
    [
        # Exhibit A (Arizona ADE, April 2020): its rows, of which those with a note are desserts.
        ("cookies with raisins", True),  # group E
        ("vanilla wafer cookies", True),  # group C
        ("frosted doughnuts", True),  # group E
        ("granola bars, plain", True),  # group D
        ("brownies, plain", True),  # group G
        ("cake, unfrosted", True),  # group F
        ("graham crackers", False),  # group B, sweet crackers
        ("animal crackers", False),  # group B
        ("cornbread", False),  # group C
        ("waffles", False),  # group C
        ("muffins", False),  # group D
        ("croissants", False),  # group C
        ("French toast", False),  # group E
    ],
)
def test_which_rows_of_exhibit_a_are_desserts(name: str, dessert: bool) -> None:
    """The cookies, cakes, doughnuts and bars; sweet crackers, muffins and quick breads are none."""
    assert is_dessert(name, ()) is dessert


def test_brown_rice_is_whole_and_a_name_that_says_nothing_stays_open() -> None:
    """7 CFR 210.2 counts the grain itself; a bun's name may leave it to the label."""
    assert whole_share("brown rice, long grain").least == 1
    assert (whole_share("hamburger bun").least, whole_share("hamburger bun").most) == (0, 1)
