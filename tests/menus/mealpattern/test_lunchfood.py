"""Household foods, spreads, keeping and textures: the data are whole, and the rules fire where they must."""

from __future__ import annotations

from datetime import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.aminos import foods as protein_foods
from menus.mealpattern.choking import Food, choking
from menus.mealpattern.household import HouseholdFood, household_foods, shapes
from menus.mealpattern.keeping import keeping, limits
from menus.mealpattern.spreads import spread_in
from menus.mealpattern.textures import DRINK, FOOD, Fits, fits, levels

FOODS = list(household_foods().values())


@pytest.mark.parametrize("food", FOODS, ids=[food.code for food in FOODS])
def test_every_food_is_whole(food: HouseholdFood) -> None:
    """Both languages, known shapes, a known protein, a source."""
    assert food.name and food.es and food.words and food.portion and food.source
    assert set(food.shapes) <= shapes().keys() and food.verified in ("read", "memory")
    assert food.keeps in ("cold", "hot", "any") and all(amount > 0 for amount in food.credits.values())
    assert not food.protein or (food.protein in protein_foods() and food.grams > 0)


@pytest.mark.parametrize(
    "name",
    ["Sunflower seed butter", "Almond butter, creamy", "Crunchy nut butter", "Soy butter", "Organic tahini"],
)
def test_a_spread_in_place_of_peanut_butter(name: str) -> None:
    """Common practice, no source: a site decides by product."""
    assert spread_in(name)


@pytest.mark.parametrize("name", ["Peanut butter", "Butter", "Butternut squash", "Sunflower seeds, butter", "Jam", ""])
def test_no_spread_of_that_kind(name: str) -> None:
    """Peanut butter itself is a matter of the room's rules."""
    assert spread_in(name) == ""


def test_the_limits_of_the_food_code() -> None:
    """FDA Food Code 2022, 3-501.16 and 3-501.19: 41 °F, 135 °F, 4 hours (memory)."""
    found = limits()
    assert (found["cold"].most, found["hot"].least, found["time"].most) == (41, 135, 240)
    assert {each.verified for each in found.values()} == {"memory"}


@pytest.mark.parametrize(
    ("keeps", "eaten", "ice", "over"),
    [
        (["cold"], time(11), False, ("time", "home")),
        (["cold"], time(11), True, ()),
        (["any"], time(11), False, ()),
        ([""], time(11), False, ("time", "home")),  # nobody knows: as if it had to be kept cold
        (["hot"], time(10), False, ("home",)),
        (["cold"], time(8, 59), False, ()),
        (["cold"], None, False, ()),
        (["cold"], time(6), False, ()),
    ],
)
def test_time_without_cold_or_heat(keeps: list[str], eaten: time | None, ice: bool, over: tuple[str, ...]) -> None:
    """Packed at 6:59."""
    assert keeping(keeps, time(6, 59), eaten, at_temperature=ice).over == over


@given(st.lists(st.sampled_from(["cold", "hot", "any", ""])), st.sampled_from(["cold", "hot", "any", ""]))
def test_one_food_more_never_shortens_the_warning(keeps: list[str], more: str) -> None:
    """Only more caution is free."""
    fewer = keeping(keeps, time(7), time(12), at_temperature=False)
    several = keeping([*keeps, more], time(7), time(12), at_temperature=False)
    assert set(fewer.over) <= set(several.over) and fewer.cold <= several.cold and fewer.hot <= several.hot


def test_levels_by_number() -> None:
    """IDDSI framework: 0 to 4 for drink, 3 to 7 for food (memory); words of our own."""
    assert list(levels(DRINK)) == [0, 1, 2, 3, 4] and list(levels(FOOD)) == [3, 4, 5, 6, 7]


@pytest.mark.parametrize(
    ("stated", "level", "of", "found"),
    [
        (5, 5, FOOD, Fits.AS_SET),
        (None, 5, FOOD, Fits.UNKNOWN),
        (7, 5, FOOD, Fits.ABOVE),
        (4, 5, FOOD, Fits.OTHER),
        (0, 2, DRINK, Fits.ABOVE),
        (3, 2, DRINK, Fits.OTHER),
    ],
)
def test_fits(stated: int | None, level: int, of: str, found: Fits) -> None:
    """Only the level that was set fits; which way another differs decides how grave it is."""
    assert fits(stated, level, of) is found


@pytest.mark.parametrize(("months", "found"), [(40, {"CH002"}), (72, {"CH056"}), (84, set()), (None, {"CH002"})])
def test_small_round_tomatoes(months: int | None, found: set[str]) -> None:
    """Quartered under four (read); halved is customary even at six (common practice, no source)."""
    assert {each.hazard.id for each in choking([Food("Cherry tomatoes", form="whole")], youngest=months)} == found
    assert not choking([Food("Cherry tomatoes", form="halved")], youngest=72)
