"""The order found is the best there is: no order of a small kitchen, tried one by one, does better."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from menus.kitchen.events import Use
from menus.planning.faults import Unworkable
from menus.planning.propose import propose
from menus.planning.sound import unsound
from menus.planning.work import Cleaning, Work
from tests.menus.planning.exhaustive import best
from tests.menus.planning.kitchens import at, dish, stake, steel, step, wood, work

SUBSTANCES = ("milk", "egg", "wheat")
YESTERDAY = 9
"""A dish that is over, and that left milk on whatever it touched."""


def kitchen(random: Random, *, capacity: int = 1) -> Work:
    """A kitchen of two or three surfaces and three to five steps, some of which need two things at once."""
    surfaces = list(range(random.choice([2, 3])))
    stations = [
        random.choice(
            [wood(each), *[steel(each, cleaning=Cleaning("wash_rinse", random.choice([5, 10])), capacity=capacity)] * 2]
        )
        for each in surfaces
    ]
    dishes = {
        number: dish(number, *random.sample(SUBSTANCES, random.choice([0, 0, 1, 1, 2])))
        for number in range(random.choice([2, 3, 4]))
    }
    steps = []
    minute = 0
    for number in range(random.choice([3, 4, 5]) if capacity == 1 else 4):
        places = random.sample(surfaces, random.choice([1, 1, 1, 2]))
        others = [each for each in surfaces if each not in places]
        needs = [(each, random.choice(others)) if others and random.random() < 0.25 else each for each in places]
        cleaned = {each: random.choice(["wash_rinse", "sanitize_only"]) for each in places if random.random() < 0.2}
        minutes = random.choice([5, 10])
        steps.append(
            step(
                number,
                random.choice(list(dishes)),
                minute,
                *needs,
                minutes=minutes,
                after=(random.randrange(number),) if number and random.random() < 0.2 else (),
                cleaned=cleaned if capacity == 1 else {},
            )
        )
        minute += minutes
    stakes = [
        stake(number, *random.sample(SUBSTANCES, random.choice([1, 2])), children=random.choice([1, 2, 3]))
        for number in dishes
        for _ in range(2)
    ]
    before = tuple(Use(at(-60), each, YESTERDAY) for each in surfaces if random.random() < 0.3)
    made = work(
        stations,
        {**dishes, YESTERDAY: dish(YESTERDAY, "milk")},
        steps,
        stakes,
        until=minute + random.choice([-5, 0, 5, 10, 40]),
        before=before,
    )
    return shift(made, 60) if before else made


def shift(made: Work, minutes: int) -> Work:
    """The same morning on another clock: nothing depends on it."""
    later = timedelta(minutes=minutes)
    return replace(
        made,
        start=made.start + later,
        deadline=made.deadline + later,
        steps=tuple(
            replace(
                each,
                at=each.at + later,
                needs=tuple(
                    replace(need, cleaned=tuple(replace(kept, at=kept.at + later) for kept in need.cleaned))
                    for need in each.needs
                ),
            )
            for each in made.steps
        ),
    )


def found(made: Work) -> tuple[int, int] | None:
    """What the search reached, proven; None when it says that no order ends in time."""
    try:
        proposal = propose(made, 30)
    except Unworkable:
        return None
    assert proposal.proven
    children, cleanings = proposal.levels[:2]
    assert proposal.plan.children <= children.value
    if not proposal.kept:
        assert not unsound(made, proposal.plan)
        assert proposal.plan.children == children.value
        assert sum(each.added for each in proposal.plan.cleanings) == cleanings.value
    return children.value, cleanings.value


@pytest.mark.parametrize("seed", range(30))
def test_no_order_of_a_small_kitchen_is_better(seed: int) -> None:
    """Thirty kitchens with detours, things needed at once, cleanings that stay, and what lay there before."""
    made = kitchen(Random(seed))
    assert found(made) == best(made)


@pytest.mark.parametrize("seed", range(12))
def test_no_order_is_better_where_a_surface_takes_two_dishes_at_once(seed: int) -> None:
    """Two that begin together touch each other; to take turns may cost time, or a cleaning."""
    made = kitchen(Random(1000 + seed), capacity=2)
    assert found(made) == best(made)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.randoms(use_true_random=False))
def test_no_order_is_better_whatever_the_kitchen(random: Random) -> None:
    """The same for kitchens that nobody chose."""
    made = kitchen(random)
    assert found(made) == best(made)


def test_the_kitchens_tried_are_not_all_easy() -> None:
    """Among them some where somebody meets carry-over whatever is done, some with cleanings, some that end too late."""
    reached = [best(kitchen(Random(seed))) for seed in range(30)]
    assert None in reached
    assert sum(each is not None and each[0] > 0 for each in reached) >= 5
    assert sum(each is not None and each[1] > 0 for each in reached) >= 5
