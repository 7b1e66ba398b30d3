"""The fast engine against a slow one that follows every residue step by step, on many small random days."""

from __future__ import annotations

from hypothesis import HealthCheck, given, settings

from menus.kitchen.events import Event
from menus.kitchen.residue import follow
from tests.menus.kitchen.days import AIRBORNE, DISHES, MATERIALS, SURFACES, days
from tests.menus.kitchen.stepwise import holds_up, stepwise

many = settings(max_examples=10_000, deadline=None, suppress_health_check=[HealthCheck.too_slow])


@many
@given(days)
def test_it_agrees_with_the_slow_way(events: list[Event]) -> None:
    """On 10,000 random days, for every dish, thing and way; and every chain that it tells holds up."""
    trace = follow(events, SURFACES, DISHES, AIRBORNE.__contains__)
    assert {dish: dict(trace.arrived(dish)) for dish in DISHES} == stepwise(events, MATERIALS, DISHES, AIRBORNE)
    for dish in DISHES:
        for thing, how in trace.arrived(dish):
            chain = trace.chain(dish, thing, how)
            assert max((link.how for link in chain), default=how) == how
            assert holds_up(thing, dish, chain, events, MATERIALS, DISHES)
