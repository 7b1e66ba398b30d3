"""Dishes that hang together: following them alone is following the whole day."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from menus.kitchen.circle import circle
from menus.kitchen.events import Clean, Contact, Event, How, Reserve, Stay, Use
from menus.kitchen.residue import follow
from tests.menus.kitchen.days import AIRBORNE, DISHES, SURFACES, days, minute

WASH = "wash_rinse_sanitize"


def among(day: list[Event], dish: int) -> set[int]:
    return set(circle(day, SURFACES, [dish]).dishes)


@settings(max_examples=2_000, deadline=None)
@given(days, st.sets(st.sampled_from(list(DISHES)), min_size=1, max_size=2))
def test_following_them_alone_is_following_the_day(day: list[Event], dishes: set[int]) -> None:
    """What comes to each of them, and on which way, is the same."""
    found = circle(day, SURFACES, dishes)
    whole = follow(day, SURFACES, DISHES, AIRBORNE.__contains__)
    alone = follow(found.events, SURFACES, {dish: DISHES[dish] for dish in found.dishes}, AIRBORNE.__contains__)
    for dish in found.dishes:
        assert dict(alone.arrived(dish)) == dict(whole.arrived(dish))
        for thing, how in whole.arrived(dish):
            assert alone.chain(dish, thing, how) == whole.chain(dish, thing, how)


@settings(deadline=None)
@given(days, st.sampled_from(list(DISHES)), st.sampled_from(["peanut", "fish", "sesame"]))
def test_a_change_reaches_no_other(day: list[Event], dish: int, added: str) -> None:
    """Whatever is new in one dish comes to none that does not hang together with it."""
    more = DISHES | {dish: {*DISHES[dish], added}}
    before, after = (follow(day, SURFACES, each, AIRBORNE.__contains__) for each in (DISHES, more))
    for other in DISHES.keys() - among(day, dish):
        assert dict(before.arrived(other)) == dict(after.arrived(other))


def test_two_dishes_on_one_surface() -> None:
    """By touching it one after the other, at any distance."""
    assert among([Use(minute(1), 0, 0), Use(minute(9), 0, 1)], 0) == {0, 1}


def test_a_cleaning_between_parts_them() -> None:
    """One that removes allergens from that material, at no minute of a touch."""
    uses = [Use(minute(1), 0, 0), Use(minute(9), 0, 1)]
    assert among([*uses, Clean(minute(5), 0, WASH)], 0) == {0}
    assert among([*uses, Clean(minute(5), 0, "dry_wipe")], 0) == {0, 1}
    assert among([*uses, Clean(minute(9), 0, WASH)], 0) == {0, 1}


def test_a_cleaning_during_a_stay_parts_nobody() -> None:
    """What stays there touches it all the same."""
    day = [Stay(minute(1), minute(8), 0, 0, How.TOUCH), Clean(minute(5), 0, WASH), Use(minute(9), 0, 1)]
    assert among(day, 0) == {0, 1}


def test_by_way_of_others() -> None:
    """Over two surfaces that touch, and over a portion set apart."""
    day = [Use(minute(1), 0, 0), Contact(minute(2), 0, 1), Use(minute(3), 1, 1), Reserve(minute(4), 1, 4)]
    assert among(day, 0) == {0, 1, 4}


def test_a_dish_that_touches_nothing() -> None:
    """It stands alone, and no event is about it."""
    found = circle([Use(minute(1), 0, 1)], SURFACES, [0])
    assert (found.dishes, found.events) == ({0}, [])
