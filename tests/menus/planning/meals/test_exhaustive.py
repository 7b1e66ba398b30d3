"""The choice found is the best there is: no way of adding dishes to trays, tried one by one, does better."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from menus.planning.meals.byhand import by_hand
from menus.planning.meals.plan import Meals
from menus.planning.meals.search import choose
from menus.planning.meals.table import Dish, Stock, Task, open_components
from tests.menus.planning.meals.exhaustive import best
from tests.menus.planning.meals.tasks import COMPONENTS, a_week_by_chance, by_chance

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


@settings(max_examples=200, deadline=None)
@given(seeds)
def test_weekly_limits_are_kept_as_far_as_any_way_keeps_them(random: Random) -> None:
    """Days hang together by the limits of a child's week, and the choice is still the least of all ways."""
    task = a_week_by_chance(random)
    found = choose(task, SECONDS)
    assert found.proven
    assert found.tally == best(task)
    assert found.tally == tuple(level.value for level in found.levels)
    _everybody_has_one_tray(task, found)
    _stock_is_held(task, found)


@settings(max_examples=100, deadline=None)
@given(seeds)
def test_no_whole_meal_is_given_up_for_a_limit(random: Random) -> None:
    task = a_week_by_chance(random)
    assert choose(task, SECONDS).tally[:2] == choose(replace(task, weeks=()), SECONDS).tally[:2]


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
    task = random.choice([by_chance, a_week_by_chance])(random)
    credits = {name: Fraction(random.choice([1, 2])) for name in COMPONENTS if random.random() < 0.6}
    counts = {name: Fraction(random.randint(-1, 4)) for name in ("salt", "fat")}
    more = Dish(99, "one more", credits, planned=False, cost=random.choice([0, 3]), counts=counts)
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
            there = [each.members for each in way.given if each.meal is meal and each.group is group]
            assert sorted(member for members in there for member in members) == sorted(group.members)


def _stock_is_held(task: Task, way: Meals) -> None:
    for stock in task.stocks:
        taken = [each for (day, _, key), each in way.portions.items() if key == stock.dish and _within(stock, day)]
        assert sum(taken) <= stock.portions


def _within(stock: Stock, day: date) -> bool:
    return stock.first <= day <= stock.last
