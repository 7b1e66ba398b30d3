"""What the levels set for a child ask of a dish: the numbers are those of the IDDSI framework (memory)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from menus.mealpattern.textures import DRINK, FOOD, Fits, Wanted, wanted

SET_FOOD = st.none() | st.integers(3, 7)
SET_DRINK = st.none() | st.integers(0, 4)
STATED = st.none() | st.integers(0, 7)


@pytest.mark.parametrize(
    ("food", "drink", "stated", "asked"),
    [
        (5, None, None, [(FOOD, 5, Fits.UNKNOWN)]),
        (5, 2, None, [(FOOD, 5, Fits.UNKNOWN), (DRINK, 2, Fits.UNKNOWN)]),
        (5, None, 7, [(FOOD, 5, Fits.ABOVE)]),
        (5, None, 6, [(FOOD, 5, Fits.ABOVE)]),
        (5, None, 4, [(FOOD, 5, Fits.OTHER)]),  # softer than set: another level all the same
        (5, 2, 0, [(DRINK, 2, Fits.ABOVE)]),  # level 0 is a drink, and thinner than set
        (5, 2, 3, [(FOOD, 5, Fits.OTHER), (DRINK, 2, Fits.OTHER)]),  # level 3 may be either
        (None, 2, 7, []),  # level 7 is food, and none is set for food
        (5, None, 0, []),
        (5, None, 5, []),
        (3, 2, 3, []),
        (7, None, None, []),
        (7, 0, None, []),
        (None, None, None, []),
    ],
)
def test_what_is_asked(
    food: int | None, drink: int | None, stated: int | None, asked: list[tuple[str, int, Fits]]
) -> None:
    """A level that nobody stated is a question; the very level is none; ordinary food and thin drink ask nothing."""
    assert wanted(food, drink, stated) == tuple(Wanted(*each) for each in asked)


@given(SET_FOOD, SET_DRINK, STATED)
def test_only_the_very_level_or_none_set_asks_nothing(food: int | None, drink: int | None, stated: int | None) -> None:
    """Whatever is silent, or says another level of the kind for which one is set, is asked about."""
    if wanted(food, drink, stated):
        return
    plain = food in (None, 7) and drink in (None, 0)
    not_set = (stated in (0, 1, 2) and drink in (None, 0)) or (stated in (5, 6, 7) and food in (None, 7))
    assert plain or not_set or stated in (food, drink)


@given(SET_FOOD, SET_DRINK, STATED)
def test_saying_nothing_never_asks_for_less(food: int | None, drink: int | None, stated: int | None) -> None:
    """Silence is not absence: a dish that states no level asks at least as many questions."""
    assert len(wanted(food, drink, stated)) <= len(wanted(food, drink, None))


@given(st.integers(3, 6), STATED)
def test_what_may_only_be_eaten_is_never_taken_for_a_drink(food: int, stated: int | None) -> None:
    """A soup in a guardian's box stated as level 1 is not the food that was set."""
    assert bool(wanted(food, None, stated, (FOOD,))) is (stated != food)
