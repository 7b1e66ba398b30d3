"""What a serving holds: weights of lines, and missing figures that stay missing."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.nutrients.panel import Panel
from menus.mealpattern.nutrients.serving import Weighed, held
from menus.mealpattern.nutrients.weighing import grams

BREAD = Panel(Fraction(100), {"energy_kcal": Fraction(250), "sodium_mg": Fraction(450)}, piece_g=Fraction(28))
APPLE = Panel(Fraction(100), {"energy_kcal": Fraction(52)}, edible=Fraction(9, 10))
BEANS = Panel(Fraction(130), {"energy_kcal": Fraction(140)}, cup_g=Fraction(260))
AMOUNTS = st.fractions(0, 500, max_denominator=8)


@pytest.mark.parametrize(
    ("text", "panel", "weighs"),
    [
        ("2 lb", BREAD, "907.2"),
        ("100 slice", BREAD, "2800"),
        ("10 lb", APPLE, "4082.4"),  # a tenth is core
        ("2 cup", BEANS, "520"),
        ("1 no. 10 can", BEANS, "3120"),
        ("500 g", BREAD, "500"),
        ("2 66-oz can", BREAD, "3742.2"),
    ],
)
def test_weights_that_can_be_told(text: str, panel: Panel, weighs: str) -> None:
    """By weight, by piece, by cup, without what is not eaten."""
    assert grams(text, panel) == pytest.approx(Fraction(weighs))


@pytest.mark.parametrize(
    ("text", "panel"),
    [("2 cup", BREAD), ("50 each", APPLE), ("2 cup", None), ("some", BREAD), ("", BREAD), ("2 bag", BREAD)],
)
def test_weights_that_nobody_has_said(text: str, panel: Panel | None) -> None:
    """Never guessed."""
    assert grams(text, panel) is None


def test_what_is_missing_is_no_zero() -> None:
    """An apple without sodium: the energy is whole, the sodium is known for 56 g of 156 only."""
    found = held([Weighed("bread", Fraction(56), BREAD), Weighed("apple", Fraction(100), APPLE)])
    assert found.totals == {"energy_kcal": Fraction(192)}
    assert found.amounts["sodium_mg"] == Fraction(252)
    assert found.covered["sodium_mg"] == Fraction(56, 156)
    assert found.covered["saturated_fat_g"] == 0
    assert found.missing == ()


def test_a_line_without_a_weight_leaves_the_share_untold() -> None:
    """Nobody can say what part of a weight is covered that is not known."""
    found = held([Weighed("bread", Fraction(56), BREAD), Weighed("jam", None, BREAD)])
    assert found.grams is None
    assert found.totals == {}
    assert found.covered["energy_kcal"] is None
    assert found.missing == ("jam",)


def test_a_line_without_figures_is_named() -> None:
    """And counts against every nutrient."""
    found = held([Weighed("bread", Fraction(50), BREAD), Weighed("spice", Fraction(50), None)])
    assert found.missing == ("spice",)
    assert found.covered["energy_kcal"] == Fraction(1, 2)
    assert found.totals == {}


@given(st.lists(AMOUNTS, min_size=1, max_size=4), AMOUNTS)
def test_more_of_a_food_never_holds_less(weights: list[Fraction], more: Fraction) -> None:
    """And a dish of which all is stated stays one."""
    lines = [Weighed("bread", weight, BREAD) for weight in weights]
    larger = [*lines[:-1], Weighed("bread", weights[-1] + more, BREAD)]
    before, after = held(lines), held(larger)
    assert after.amounts["energy_kcal"] >= before.amounts["energy_kcal"]
    assert set(after.totals) >= set(before.totals)
