"""Meals that people can follow: what is chosen, what is left open, and why."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest

from menus.planning.meals.byhand import by_hand
from menus.planning.meals.lack import Bar, lacks
from menus.planning.meals.search import choose
from menus.planning.meals.table import BadMeals, Task
from menus.planning.meals.trays import trays
from tests.menus.planning.meals.tasks import MONDAY, dish, group, in_all, lunch

PASTA = dish(1, planned=True, name="pasta bake", meat_alternate=2, grains=1)
MILK = dish(2, planned=True, name="milk", milk=1)
SOY = dish(11, name="soy drink", milk=1)
RICE = dish(12, name="rice", grains=1)
BEANS = dish(13, name="beans", meat_alternate=2)
BOWL = dish(14, name="rice and bean bowl", meat_alternate=2, grains=1)


def only(task: Task):
    [given] = choose(task, 5).given
    return given


def test_a_child_keeps_what_may_be_kept_and_nothing_is_added_to_a_whole_meal() -> None:
    given = only(Task((lunch([PASTA, MILK, SOY], [group(1, 3, 1, 2, 11)]),)))
    assert [each.name for each in given.dishes] == ["pasta bake", "milk"]
    assert given.children == 3 and not given.tray.open


def test_one_dish_for_two_components_goes_before_two_dishes() -> None:
    given = only(Task((lunch([PASTA, MILK, RICE, BEANS, BOWL], [group(1, 1, 2, 12, 13, 14)]),)))
    assert [each.name for each in given.tray.extra] == ["rice and bean bowl"]


def test_one_dish_that_serves_all_goes_before_one_for_each() -> None:
    """Rice and beans are two dishes that both groups may have; the bowl serves one of them alone."""
    meal = lunch([PASTA, MILK, BOWL, RICE, BEANS], [group(1, 1, 2, 12, 13, 14), group(2, 1, 2, 12, 13)])
    found, hand = choose(Task((meal,)), 5), by_hand(Task((meal,)))
    assert {each.name for given in found.given for each in given.tray.extra} == {"rice", "beans"}
    assert found.tally == (0, 0, 0, 0, 2, 4, 0)
    assert hand.tally[0] == 1, "no single dish that the second may have credits all that the pasta does"


def test_halves_add_up() -> None:
    half, other = dish(21, meat_alternate=1), dish(22, meat_alternate=1)
    meal = lunch([half, other], [group(1, 1, 21, 22, meat_alternate=2)])
    assert len(only(Task((meal,))).tray.extra) == 2
    assert [len(tray.extra) for tray in trays(meal, meal.groups[0])] == [0, 2], "one half alone is idle"


def test_children_without_a_whole_meal_are_still_given_the_rest() -> None:
    given = only(Task((lunch([PASTA, MILK, BOWL], [group(1, 1, 14)]),)))
    assert [each.name for each in given.tray.extra] == ["rice and bean bowl"]
    assert given.tray.open == {"milk"}


def test_why_a_meal_stays_open_is_said_dish_by_dish() -> None:
    task = Task((lunch([MILK, SOY, dish(15, name="oat drink", milk=0.5)], [group(1, 1, 15, milk=1)]),))
    [lack] = lacks(choose(task, 5).given, task.stocks)
    assert (lack.component, lack.children) == ("milk", 1)
    assert {each.dish.name: each.bar for each in lack.barred} == {
        "milk": Bar.KEPT_AWAY,
        "soy drink": Bar.KEPT_AWAY,
        "oat drink": Bar.TOO_LITTLE,
    }


def test_where_no_dish_credits_a_component_no_dish_is_barred() -> None:
    task = Task((lunch([PASTA], [group(1, 1, 1)]),))
    [lack] = lacks(choose(task, 5).given, task.stocks)
    assert (lack.component, lack.barred) == ("milk", ())


def test_what_is_on_hand_goes_round_over_the_days() -> None:
    days = [MONDAY, MONDAY + timedelta(days=1)]
    task = Task(tuple(lunch([MILK, SOY], [group(1, 2, 11, milk=1)], day) for day in days), in_all({11: 3}))
    found = choose(task, 5)
    assert found.proven and found.tally[0] == 1
    [lack] = lacks(found.given, task.stocks)
    assert [each.bar for each in lack.barred] == [Bar.KEPT_AWAY, Bar.USED_UP]
    assert sum(found.portions.values()) == 3


def test_what_is_left_is_too_little_without_what_is_used_up() -> None:
    """Two halves make a whole; of the one there is none left, and the other half alone is no help."""
    half, other = dish(21, meat_alternate=1), dish(22, meat_alternate=1)
    task = Task((lunch([half, other], [group(1, 1, 21, 22, meat_alternate=2)]),), in_all({22: 0}))
    found = choose(task, 5)
    [lack] = lacks(found.given, task.stocks)
    assert found.proven
    assert [(each.dish.key, each.bar) for each in lack.barred] == [(21, Bar.TOO_LITTLE), (22, Bar.USED_UP)]


def test_the_same_dish_at_two_meals_of_a_day_is_prepared_once() -> None:
    first = lunch([MILK, SOY], [group(1, 1, 11, milk=1)])
    supper = lunch([MILK, SOY], [group(1, 1, 11, milk=1)])
    task = Task((first, type(supper)(MONDAY, "supper", supper.dishes, supper.groups)))
    assert choose(task, 5).tally[4:6] == (1, 2)


def test_cost_comes_last() -> None:
    dear, cheap = dish(31, milk=1, cost=90), dish(32, milk=1, cost=40)
    given = only(Task((lunch([dear, cheap], [group(1, 1, 31, 32, milk=1)]),)))
    assert [each.key for each in given.tray.extra] == [32]


def test_of_a_choice_a_child_takes_one_and_one_that_may_be_given_is_enough() -> None:
    fish = replace(dish(3, planned=True, name="fish", meat_alternate=2, grains=1), choice="main")
    pasta = replace(PASTA, choice="main")
    meal = lunch([pasta, fish, MILK, BOWL], [group(1, 1, 2, 3, 14), group(2, 1, 1, 2, 3, 14)])
    found = choose(Task((meal,)), 5)
    assert found.tally == (0,) * 7
    assert {given.group.key: [each.name for each in given.dishes] for given in found.given} == {
        1: ["fish", "milk"],
        2: ["pasta bake", "milk"],
    }
    assert by_hand(Task((meal,))).tally == (0,) * 7


def test_two_dishes_of_a_choice_do_not_add_up() -> None:
    halves = [replace(dish(key, planned=True, milk=0.5), choice="drink") for key in (1, 2)]
    given = only(Task((lunch(halves, [group(1, 1, 1, 2, milk=1)]),)))
    assert given.tray.open == {"milk"} and len(given.dishes) == 1


def test_without_children_there_is_nothing_to_choose() -> None:
    assert choose(Task((lunch([PASTA], []),)), 5).given == ()
    assert choose(Task(()), 5).given == ()


@pytest.mark.parametrize(
    ("meal", "said"),
    [
        (lunch([PASTA, PASTA], []), "stands there twice"),
        (lunch([PASTA], [group(1, 0, 1)]), "is empty"),
        (lunch([dish(1, cost=-1)], []), "costs less than nothing"),
    ],
)
def test_meals_that_contradict_themselves_are_refused(meal, said: str) -> None:
    with pytest.raises(BadMeals, match=said):
        Task((meal,))


def test_credits_stay_exact() -> None:
    """Three thirds are a whole: no rounding of decimals leaves a component open."""
    third = {"grains": Fraction(1, 3)}
    dishes = [type(PASTA)(key, f"piece {key}", third, planned=False) for key in (41, 42, 43)]
    assert not only(Task((lunch(dishes, [group(1, 1, 41, 42, 43, grains=1)]),))).tray.open
