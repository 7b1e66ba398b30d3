"""What holds for carry-over on any day: only more caution is free (design section 2, item 3)."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from menus.kitchen.events import Clean, Contact, Event, How, Reserve, Serve, Stay, Use
from menus.kitchen.residue import follow
from menus.kitchen.trace import Trace
from tests.menus.kitchen.days import AIRBORNE, DISHES, START, SURFACES, days, events, minute

Arrived = dict[int, dict[str, How]]
unhurried = settings(deadline=None)  # a busy machine is no fault of the engine
CAUTIOUS = (Use, Contact, Reserve, Stay)


def traced(day: list[Event]) -> Trace[str]:
    return follow(day, SURFACES, DISHES, AIRBORNE.__contains__)


def arrived(day: list[Event]) -> Arrived:
    trace = traced(day)
    return {dish: dict(trace.arrived(dish)) for dish in DISHES}


def no_milder(after: Arrived, before: Arrived) -> bool:
    return all(
        thing in after[dish] and after[dish][thing] <= how for dish in before for thing, how in before[dish].items()
    )


@unhurried
@given(days, events.filter(lambda event: isinstance(event, CAUTIOUS)))
def test_adding_what_touches_never_removes(day: list[Event], added: Event) -> None:
    """A use, a contact, a portion, a stay: whatever came over before still does, and no less surely."""
    assert no_milder(arrived([*day, added]), arrived(day))


@unhurried
@given(days.filter(lambda day: any(isinstance(event, Clean) for event in day)))
def test_losing_a_cleaning_never_removes(day: list[Event]) -> None:
    """A record that is lost is a cleaning that did not happen."""
    lost = next(event for event in day if isinstance(event, Clean))
    assert no_milder(arrived([event for event in day if event is not lost]), arrived(day))


@unhurried
@given(days, st.sampled_from(list(DISHES)), st.sets(st.sampled_from(list(SURFACES)), min_size=1))
def test_a_dish_made_before_all_others_picks_up_nothing(day: list[Event], dish: int, surfaces: set[int]) -> None:
    """Moving a dish earlier than all sources never adds anything to it."""
    others = [event for event in day if dish not in (getattr(event, "dish", None), getattr(event, "portion", None))]
    first = [Use(START - timedelta(minutes=5), surface, dish) for surface in surfaces]
    assert arrived([*first, *others])[dish] == {}


@unhurried
@given(days, st.sampled_from(list(DISHES)), st.integers(0, 9), days)
def test_what_comes_after_the_serving_changes_nothing(
    day: list[Event], dish: int, served: int, later: list[Event]
) -> None:
    """Neither what came to the dish nor the ways on which it came."""
    before = [event for event in day if not isinstance(event, Serve)] + [Serve(minute(served), dish)]
    after = [
        replace(event, at=event.at + timedelta(minutes=10)) for event in later if not isinstance(event, Serve | Stay)
    ]
    one, other = traced(before), traced([*before, *after])
    ways = [(thing, one.chain(dish, thing, how)) for thing, how in one.arrived(dish)]
    assert ways == [(thing, other.chain(dish, thing, how)) for thing, how in other.arrived(dish)]


@unhurried
@given(days)
def test_the_order_of_the_list_does_not_matter(day: list[Event]) -> None:
    """The clock decides, not the order in which events were typed in: for what came and for the way told of it."""
    one, other = traced(day), traced(day[::-1])
    for dish in DISHES:
        ways = {thing: one.chain(dish, thing, how) for thing, how in one.arrived(dish)}
        assert ways == {thing: other.chain(dish, thing, how) for thing, how in other.arrived(dish)}


uses = st.builds(Use, st.just(START), st.sampled_from(list(SURFACES)), st.sampled_from(list(DISHES)))


@unhurried
@given(st.lists(uses, max_size=5))
def test_one_minute_is_every_order_of_that_minute(together: list[Event]) -> None:
    """What comes over at one minute is exactly what could have come over in some order of its touches."""
    possible: dict[int, set[str]] = {dish: set() for dish in DISHES}
    for order in permutations(together):
        spread = [replace(event, at=minute(number)) for number, event in enumerate(order)]
        for dish, things in arrived(spread).items():
            possible[dish] |= set(things)
    assert {dish: set(things) for dish, things in arrived(together).items()} == possible
