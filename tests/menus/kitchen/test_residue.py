"""Single rules of the engine, each by the smallest day that shows it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from menus.kitchen.events import Clean, Contact, Cover, Event, How, Reserve, Serve, Stay, Uncover, Use
from menus.kitchen.residue import follow
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.trace import Link
from tests.menus.kitchen.days import minute

BOARD, KNIFE, PLACE = 10, 11, 12
SURFACES = {number: SurfaceFacts(number, f"surface {number}", "non_porous") for number in (BOARD, KNIFE, PLACE)}
NUTS, FISH, PLAIN, OTHER = 0, 1, 2, 3
DISHES: dict[int, set[str]] = {NUTS: {"peanut"}, FISH: {"fish", "sesame"}, PLAIN: set(), OTHER: {"peanut"}}
WASH = "wash_rinse"


def found(events: list[Event], dish: int = PLAIN) -> dict[str, How]:
    return dict(follow(events, SURFACES, DISHES, lambda thing: thing == "fish").arrived(dish))


def stay(begins: int, ends: int, dish: int, how: How) -> Stay:
    return Stay(minute(begins), minute(ends), PLACE, dish, how)


def test_a_contact_goes_both_ways() -> None:
    """Whichever of the two surfaces had it, both have it after."""
    for contact in (Contact(minute(1), BOARD, KNIFE), Contact(minute(1), KNIFE, BOARD)):
        assert found([Use(minute(0), KNIFE, NUTS), contact, Use(minute(2), BOARD, PLAIN)]) == {"peanut": How.TOUCH}


def test_what_hangs_together_at_one_minute_meets() -> None:
    """Nuts and fish on the knife, fish and the plain dish on the board: in some order the nuts come through."""
    events: list[Event] = [Use(minute(0), KNIFE, NUTS), Use(minute(0), KNIFE, FISH)]
    events += [Use(minute(0), BOARD, FISH), Use(minute(0), BOARD, PLAIN)]
    assert "peanut" in found(events)


@pytest.mark.parametrize("touch", [Use(minute(1), BOARD, PLAIN), Contact(minute(1), KNIFE, BOARD)])
def test_a_cleaning_at_the_minute_of_a_touch_is_set_aside(touch: Event) -> None:
    """It counts for nothing, and the trace keeps it so that somebody can be asked."""
    cleaning = Clean(minute(1), BOARD, WASH)
    events = [Use(minute(0), BOARD, NUTS), cleaning, touch, Use(minute(2), BOARD, PLAIN)]
    assert found(events) == {"peanut": How.TOUCH}
    assert follow(events, SURFACES, DISHES).voided == [cleaning]


def test_of_two_servings_the_last_counts() -> None:
    """What is handed out at the second sitting has met what came between."""
    events: list[Event] = [Serve(minute(0), PLAIN), Use(minute(1), BOARD, NUTS), Use(minute(2), BOARD, PLAIN)]
    assert found(events) == {}
    assert found([*events, Serve(minute(3), PLAIN)]) == {"peanut": How.TOUCH}


def test_what_is_left_of_a_served_dish_still_carries() -> None:
    """It picks up nothing for those who ate it, and passes on what it picks up."""
    events: list[Event] = [Serve(minute(0), FISH), Use(minute(1), BOARD, NUTS), Use(minute(2), BOARD, FISH)]
    events += [Use(minute(2), KNIFE, FISH), Use(minute(3), KNIFE, PLAIN)]
    assert found(events, FISH) == {}
    assert found(events) == {"peanut": How.TOUCH, "fish": How.TOUCH, "sesame": How.TOUCH}


def test_the_chain_keeps_to_the_time_before_the_cleaning() -> None:
    """The board had it twice; the dish took it up the first time."""
    events: list[Event] = [Use(minute(0), BOARD, NUTS), Use(minute(1), BOARD, PLAIN), Clean(minute(2), BOARD, WASH)]
    trace = follow([*events, Use(minute(3), BOARD, OTHER)], SURFACES, DISHES)
    assert trace.chain(PLAIN, "peanut", How.TOUCH) == (Link(minute(0), BOARD, NUTS, minute(1), How.TOUCH),)


def test_a_chain_over_a_contact() -> None:
    """The second link came from the surface before it, by no dish."""
    events = [Use(minute(0), KNIFE, NUTS), Contact(minute(1), KNIFE, BOARD), Use(minute(2), BOARD, PLAIN)]
    assert follow(events, SURFACES, DISHES).chain(PLAIN, "peanut", How.TOUCH) == (
        Link(minute(0), KNIFE, NUTS, minute(1), How.TOUCH),
        Link(minute(1), BOARD, None, minute(2), How.TOUCH),
    )


def test_a_bar_mixes_from_its_opening_to_its_end() -> None:
    """What is filled in later reaches what stands there; what left before, or came after, is spared."""
    bar = [stay(2, 9, NUTS, How.TOUCH)]
    assert found([*bar, stay(0, 5, PLAIN, How.TOUCH)]) == {"peanut": How.TOUCH}
    assert found([*bar, stay(0, 1, PLAIN, How.TOUCH)]) == {}
    assert found([*bar, Clean(minute(10), PLACE, WASH), stay(11, 12, PLAIN, How.TOUCH)]) == {}


def test_what_a_dish_picks_up_elsewhere_reaches_its_bar() -> None:
    """The lettuce is turned with a knife that had nuts on it: so are its neighbours."""
    events: list[Event] = [stay(0, 9, FISH, How.TOUCH), stay(0, 9, PLAIN, How.TOUCH)]
    events += [Use(minute(1), KNIFE, NUTS), Use(minute(2), KNIFE, FISH)]
    assert found(events)["peanut"] is How.TOUCH


def test_a_cleaning_under_what_stays_there_is_none() -> None:
    """Nobody washes a bar with the dishes in it."""
    events = [stay(0, 9, NUTS, How.TOUCH), Clean(minute(5), PLACE, WASH), Use(minute(6), PLACE, PLAIN)]
    assert found(events) == {"peanut": How.TOUCH}


def test_open_food_side_by_side_may_splash() -> None:
    """A doubt that is carried on as a doubt; a touch is surer and takes its place."""
    beside: list[Event] = [stay(0, 2, NUTS, How.NEAR), stay(1, 3, FISH, How.NEAR)]
    assert found(beside, FISH) == {"peanut": How.NEAR}
    assert found([*beside, Use(minute(4), BOARD, FISH), Use(minute(5), BOARD, PLAIN)])["peanut"] is How.NEAR
    assert found([*beside, Use(minute(4), BOARD, NUTS), Use(minute(5), BOARD, FISH)], FISH)["peanut"] is How.TOUCH


def test_steam_goes_one_way_and_carries_what_flies() -> None:
    """Fish into the open dish; not its sesame, and nothing into the pot."""
    events: list[Event] = [stay(0, 5, FISH, How.AIR), stay(2, 3, PLAIN, How.NEAR), stay(2, 3, NUTS, How.NEAR)]
    assert found(events) == {"fish": How.AIR, "peanut": How.NEAR}
    assert found(events, FISH) == {}


def test_a_doubt_goes_on_as_the_greatest_doubt_of_its_way() -> None:
    """Fish out of the air, and then perhaps a splash of that; and two splashes at one minute, one after the other."""
    airy: list[Event] = [stay(0, 1, FISH, How.AIR), stay(0, 1, OTHER, How.NEAR)]
    assert found([*airy, stay(3, 4, OTHER, How.NEAR), stay(3, 4, PLAIN, How.NEAR)])["fish"] is How.NEAR
    row = [Stay(minute(0), minute(0), place, dish, How.NEAR) for place, dish in ((BOARD, PLAIN), (BOARD, FISH))]
    assert found([*row, stay(0, 0, FISH, How.NEAR), stay(0, 0, NUTS, How.NEAR)])["peanut"] is How.NEAR


def test_of_two_that_may_have_splashed_one_way_is_told() -> None:
    """Both neighbours have nuts; the dish has one chain for it."""
    beside = [stay(0, 1, dish, How.NEAR) for dish in (NUTS, OTHER, PLAIN)]
    chain = follow(beside, SURFACES, DISHES).chain(PLAIN, "peanut", How.NEAR)
    assert chain == (Link(minute(0), PLACE, NUTS, minute(0), How.NEAR),)


def test_a_lid_spares_a_dish_what_stays_bring() -> None:
    """From the minute after, until it is opened; and a use goes under any lid."""
    beside: list[Event] = [stay(2, 4, NUTS, How.NEAR), stay(2, 4, PLAIN, How.NEAR)]
    assert found([Cover(minute(1), PLAIN), *beside]) == {}
    assert found([Cover(minute(2), PLAIN), *beside]) == {"peanut": How.NEAR}
    assert found([Cover(minute(1), PLAIN), Uncover(minute(3), PLAIN), *beside]) == {"peanut": How.NEAR}
    assert found([Cover(minute(1), PLAIN), Uncover(minute(1), PLAIN), *beside]) == {"peanut": How.NEAR}
    boxed = [Cover(minute(0), PLAIN), stay(1, 9, NUTS, How.TOUCH), stay(1, 9, PLAIN, How.TOUCH)]
    assert found([*boxed, Use(minute(2), KNIFE, PLAIN)]) == {}
    touched = [Cover(minute(1), PLAIN), Use(minute(2), BOARD, NUTS), Use(minute(3), BOARD, PLAIN)]
    assert found(touched) == {"peanut": How.TOUCH}


def test_a_portion_goes_its_own_way() -> None:
    """It has what the dish had by then, and nothing of what the dish meets later."""
    early, late = Reserve(minute(1), FISH, PLAIN), Reserve(minute(3), FISH, PLAIN)
    events: list[Event] = [Use(minute(2), BOARD, NUTS), Use(minute(2), BOARD, FISH)]
    assert "peanut" not in found([*events, early])
    assert "peanut" in found([*events, late])


def test_times_are_compared_in_utc() -> None:
    """Nine o'clock an hour further east is earlier; times with and without a zone are not mixed."""
    here, east = (
        datetime(2026, 11, 25, 9, tzinfo=UTC),
        datetime(2026, 11, 25, 9, 30, tzinfo=timezone(timedelta(hours=1))),
    )
    assert found([Use(east, BOARD, NUTS), Use(here, BOARD, PLAIN)]) == {"peanut": How.TOUCH}
    assert found([Use(east, BOARD, PLAIN), Use(here, BOARD, NUTS)]) == {}
    with pytest.raises(TypeError):
        found([Use(here, BOARD, NUTS), Use(minute(0), BOARD, PLAIN)])


def test_everything_that_came_to_lie_on_a_surface() -> None:
    """Again after each cleaning, each with the dish that left it."""
    events = [Use(minute(0), BOARD, NUTS), Clean(minute(1), BOARD, WASH), Use(minute(2), BOARD, OTHER)]
    trace = follow(events, SURFACES, DISHES)
    assert [(thing, way[-1].dish, way[-1].at) for thing, way in trace.left_on(BOARD)] == [
        ("peanut", NUTS, minute(0)),
        ("peanut", OTHER, minute(2)),
    ]
