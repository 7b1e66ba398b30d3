"""Weekly limits that people can follow: what is held, what goes before it, and what nobody knows."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from fractions import Fraction

import pytest

from menus.planning.meals.limits import passed
from menus.planning.meals.linked import binding, linked, options_of, scarce
from menus.planning.meals.plan import BEYOND, LIMITS, UNMET
from menus.planning.meals.search import choose
from menus.planning.meals.table import BadMeals, Dish, Group, Limit, Meal, Stock, Task, Week
from tests.menus.planning.meals.tasks import MONDAY, dish

DAYS = (MONDAY, MONDAY + timedelta(days=1))
SALT = Limit("salt", Fraction(10), Fraction(10))


def holding(key: int, salt: float | None, *, planned: bool = False, cost: int = 0, milk: float = 1) -> Dish:
    """A drink that holds so much salt, or does not state it."""
    counts = {} if salt is None else {"salt": Fraction(str(salt))}
    return replace(dish(key, planned=planned, cost=cost, milk=milk), counts=counts)


def of(drinks: list[Dish], *members: int, limit: Limit = SALT, stocks: tuple[Stock, ...] = ()) -> Task:
    """Two days on which these children may have each of the drinks, held to the limit."""
    may = frozenset(each.key for each in drinks)
    group = Group(1, len(members), may, {"milk": Fraction(1)}, members)
    meals = tuple(Meal(day, "lunch", tuple(drinks), (group,)) for day in DAYS)
    return Task(meals, stocks, (Week("lunch", DAYS, members, (limit,)),))


def drunk(task: Task) -> list[list[int]]:
    """The drinks of each child over the days, the children in an order of their own."""
    given = choose(task, 5).given
    return sorted(
        [each.dishes[0].key for day in DAYS for each in given if each.meal.day == day and child in each.members]
        for child in task.weeks[0].members
    )


def test_a_cheaper_dish_is_taken_as_often_as_the_week_bears_it() -> None:
    """Eight and two are ten: one day may be salty, and not both."""
    assert sorted(drunk(of([holding(11, 8, cost=1), holding(12, 2, cost=5)], 1))[0]) == [11, 12]


def test_a_limit_that_itself_is_too_much_is_not_reached() -> None:
    strict = replace(SALT, strict=True)
    assert drunk(of([holding(11, 8, cost=1), holding(12, 2, cost=5)], 1, limit=strict)) == [[12, 12]]


def test_a_limit_that_nobody_can_pass_ties_no_days_together() -> None:
    easy = of([holding(11, 5), holding(12, 2)], 1)
    tight = of([holding(11, 6), holding(12, 2)], 1)
    for task, parts in ((easy, 2), (tight, 1)):
        weeks = binding(task, options_of(task, ()))
        assert bool(weeks) is (parts == 1)
        assert len(linked(task.meals, (), weeks)) == parts


def test_a_stock_that_is_enough_for_everybody_ties_no_days_together() -> None:
    enough, short = (Stock(11, portions, *DAYS) for portions in (4, 3))
    drinks = [holding(11, 1), holding(12, 1)]
    assert scarce(of(drinks, 1, 2, stocks=(enough,))) == ()
    assert scarce(of(drinks, 1, 2, stocks=(short,))) == (short,)


def test_a_whole_meal_goes_before_a_limit() -> None:
    found = choose(of([holding(11, 8)], 1), 5)
    assert found.proven
    assert (found.tally[UNMET], found.tally[LIMITS], found.tally[BEYOND]) == (0, 1, 60)


def test_what_is_not_stated_is_not_known_to_be_kept() -> None:
    """It goes after what is known to keep the limit, and before nothing: a child is still served."""
    assert drunk(of([holding(11, None, cost=1), holding(12, 2, cost=5)], 1)) == [[12, 12]]
    found = choose(of([holding(11, None)], 1), 5)
    assert (found.tally[UNMET], found.tally[LIMITS], found.tally[BEYOND]) == (0, 1, 0)


def test_an_unstated_dish_hides_no_excess() -> None:
    """Beyond the limit or unknown is both one limit not known to be kept; nothing is gained by not knowing."""
    found = choose(of([holding(11, None, cost=9), holding(12, 8, cost=1)], 1), 5)
    assert found.tally[LIMITS] == 1 and found.tally[BEYOND] == 0
    known = choose(of([holding(12, 8, cost=1)], 1), 5)
    assert known.tally[LIMITS] == 1 and known.tally[BEYOND] == 60


def test_children_who_are_alike_may_differ_where_a_dish_runs_out() -> None:
    """The mild drink does for one child on both days, and the other then passes its limit; no other split is better."""
    mild = Stock(12, 2, *DAYS)
    task = of([holding(11, 8), holding(12, 2)], 1, 2, stocks=(mild,))
    found = choose(task, 5)
    assert found.proven and found.tally[LIMITS] == 0, "one mild day each: eight and two are ten"
    assert drunk(replace(task, stocks=(Stock(12, 1, *DAYS),))) in ([[11, 11], [11, 12]], [[11, 11], [12, 11]])


def test_percent_are_rounded_up() -> None:
    assert passed(SALT, [holding(1, 10)]) == 0
    assert passed(SALT, [holding(1, 10.001)]) == 1
    assert passed(replace(SALT, strict=True), [holding(1, 10)]) == 1
    assert passed(SALT, [holding(1, None), holding(2, 99)]) is None


def test_children_who_are_not_alike_are_not_held_together() -> None:
    one, other = (Group(key, 1, frozenset({11}), {"milk": Fraction(1)}, (key,)) for key in (1, 2))
    meal = Meal(MONDAY, "lunch", (holding(11, 1),), (one, other))
    with pytest.raises(BadMeals, match="stand in no one group"):
        Task((meal,), (), (Week("lunch", (MONDAY,), (1, 2), (SALT,)),))


def test_a_group_names_all_of_its_children_or_none() -> None:
    meal = Meal(MONDAY, "lunch", (holding(11, 1),), (Group(1, 2, frozenset({11}), {}, (1,)),))
    with pytest.raises(BadMeals, match="Name each of them, or none"):
        Task((meal,))


def test_a_limit_needs_a_scale() -> None:
    with pytest.raises(BadMeals, match="more than nothing"):
        of([holding(11, 1)], 1, limit=replace(SALT, scale=Fraction(0)))
