"""The choice found is the best there is: no way of adding dishes to trays, tried one by one, does better."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from menus.planning.meals.byhand import by_hand
from menus.planning.meals.plan import Meals
from menus.planning.meals.search import choose
from menus.planning.meals.table import Dish, Task, open_components
from tests.menus.planning.meals.exhaustive import best
from tests.menus.planning.meals.tasks import COMPONENTS, by_chance

SECONDS = 20

seeds = st.integers(0, 10**9).map(Random)


@settings(max_examples=150, deadline=None)
@given(seeds)
def test_the_choice_is_the_least_of_all_ways(random: Random) -> None:
    task = by_chance(random)
    found = choose(task, SECONDS)
    assert found.proven
    assert found.tally == best(task)
    assert found.tally == tuple(level.value for level in found.levels)


@settings(max_examples=150, deadline=None)
@given(seeds)
def test_nobody_is_given_what_is_kept_from_them(random: Random) -> None:
    task = by_chance(random)
    for way in (choose(task, SECONDS), by_hand(task)):
        for each in way.given:
            assert {dish.key for dish in each.dishes} <= each.group.may
            assert each.tray.open == open_components(each.group, each.dishes)
            assert not any(dish.planned for dish in each.tray.extra)
        _everybody_has_one_tray(task, way)
        _stock_is_held(task, way)


@settings(max_examples=100, deadline=None)
@given(seeds)
def test_one_more_dish_on_hand_never_makes_it_worse(random: Random) -> None:
    task = by_chance(random)
    credits = {name: random.choice([1, 2]) for name in COMPONENTS if random.random() < 0.6}
    more = Dish(99, "one more", credits, planned=False, cost=random.choice([0, 3]))  # type: ignore[arg-type]
    wider = replace(
        task,
        meals=tuple(
            replace(
                meal,
                dishes=(*meal.dishes, more),
                groups=tuple(
                    replace(group, may=group.may | {99}) if random.random() < 0.7 else group for group in meal.groups
                ),
            )
            for meal in task.meals
        ),
    )
    assert choose(wider, SECONDS).tally <= choose(task, SECONDS).tally


@settings(max_examples=100, deadline=None)
@given(seeds)
def test_swapping_by_hand_never_does_better(random: Random) -> None:
    task = by_chance(random)
    assert choose(task, SECONDS).tally <= by_hand(task).tally


def _everybody_has_one_tray(task: Task, way: Meals) -> None:
    for meal in task.meals:
        for group in meal.groups:
            there = [each.children for each in way.given if each.meal is meal and each.group is group]
            assert sum(there) == group.children


def _stock_is_held(task: Task, way: Meals) -> None:
    used: dict[int, int] = {}
    for (_, _, key), portions in way.portions.items():
        used[key] = used.get(key, 0) + portions
    assert all(used.get(key, 0) <= portions for key, portions in task.stock.items())
