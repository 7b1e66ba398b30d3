"""The table of foods: provenance, figures that fit together, and rows that are known to be odd."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from menus.mealpattern.nutrients.foods import TableFood, citation, faults, table

ENERGY_ELSEWHERE = {"02048", "02050", "18369"}
"""Vinegar (acetic acid), vanilla extract (alcohol), baking powder (minerals): energy that no general factor gives."""
ODD_PROTEIN = {"01009", "01029", "01295"}
"""Named as odd in amino acids by who prepared the table: about half of what their protein implies, or too much."""


def test_every_row_says_where_it_is_from() -> None:
    """By its NDB number, five digits as published, with release and licence behind the short name."""
    assert 150 <= len(table()) <= 300
    for number, food in table().items():
        assert len(number) == 5 and number.isdigit()
        assert "release 28" in citation(food.source)
        assert food.verified == "read"


def test_figures_of_a_row_fit_together() -> None:
    """Protein, fat, carbohydrate and water are no more than 105 g of 100; energy is what they give, or it is said."""
    found = {number for number, food in table().items() if faults(food)}
    assert found <= ENERGY_ELSEWHERE
    assert all(table()[number].doubt for number in ENERGY_ELSEWHERE)


def test_rows_known_to_be_odd_say_so() -> None:
    """A row that is used is used knowingly."""
    held = ODD_PROTEIN & set(table())
    assert held >= {"01009", "01029"}
    assert all("not for protein quality" in table()[number].doubt for number in held)
    assert not table()["11092"].doubt  # broccoli


@pytest.mark.parametrize(
    ("number", "nutrient", "in_100_g"),
    [
        ("01082", "energy_kcal", "42"),  # milk, lowfat, 1%
        ("01082", "saturated_fat_g", "0.633"),
        ("02047", "sodium_mg", "38758"),  # salt
        ("18075", "sodium_mg", "455"),  # bread, whole-wheat, commercial
        ("20036", "energy_kcal", "367"),  # rice, brown, long-grain, raw
        ("09003", "total_sugars_g", "10.39"),  # apples with skin
    ],
)
def test_figures_as_published(number: str, nutrient: str, in_100_g: str) -> None:
    """Of the National Nutrient Database for Standard Reference, release 28."""
    assert table()[number].panel[nutrient] == Fraction(in_100_g)


def test_what_is_not_reported_is_not_there() -> None:
    """The table has no added sugars, and never a zero in their place."""
    assert all("added_sugars_g" not in food.panel for food in table().values())


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"water_g": "80"}, "g of 100 g"),
        ({"energy_kcal": "42"}, "42 kcal"),
        ({"saturated_fat_g": "40"}, "more saturated fat than fat"),
        ({"total_sugars_g": "60"}, "more sugars than carbohydrate"),
    ],
)
def test_a_slip_in_a_row_is_found(changed: dict[str, str], says: str) -> None:
    """Cheddar with one figure mistyped."""
    cheddar: TableFood = table()["01009"]
    wrong = replace(cheddar, amounts={**cheddar.amounts, **{name: Fraction(value) for name, value in changed.items()}})
    assert faults(cheddar) == []
    assert any(says in fault for fault in faults(wrong))
