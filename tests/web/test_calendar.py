"""Dishes laid out by week, day and meal."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from compliance.web.calendar import Dish, weeks
from menus.models import Meal

MONDAY = date(2026, 3, 2)
DAYS = st.integers(0, 27).map(lambda n: MONDAY + timedelta(days=n))
DISHES = st.lists(st.builds(Dish, day=DAYS, meal=st.sampled_from(list(Meal)), name=st.text(max_size=5)), max_size=30)


@given(DISHES)
def test_every_dish_stands_once_on_its_own_day_and_meal(dishes: list[Dish]) -> None:
    """None is lost, none is shown twice."""
    laid = weeks(dishes, MONDAY, MONDAY + timedelta(days=27))
    shown = [
        (day.date, sitting.meal, dish)
        for week in laid
        for day in week.days
        for sitting in day.sittings
        for dish in sitting.dishes
    ]
    assert sorted(map(repr, shown)) == sorted(repr((dish.day, dish.meal, dish)) for dish in dishes)
    assert all(week.monday <= day.date < week.monday + timedelta(days=7) for week in laid for day in week.days)


def test_a_weekend_shows_only_when_something_is_served() -> None:
    """A daycare may open on a Saturday; a school's Sunday would only take room."""
    saturday = Dish(MONDAY + timedelta(days=5), Meal.LUNCH, "Soup")
    (week,) = weeks([saturday], MONDAY, MONDAY + timedelta(days=6))
    assert [day.date.weekday() for day in week.days] == [0, 1, 2, 3, 4, 5]
    assert week.with_weekend


def test_weekdays_without_dishes_are_shown_empty() -> None:
    """A gap in the plan is to be seen."""
    (week,) = weeks([], MONDAY, MONDAY + timedelta(days=6))
    assert [day.sittings for day in week.days] == [[], [], [], [], []]
    assert not week.with_weekend


def test_meals_stand_in_the_order_of_the_day() -> None:
    """Whatever order they come in."""
    meals = [Meal.SUPPER, Meal.SNACK, Meal.BREAKFAST, Meal.LUNCH]
    (week,) = weeks([Dish(MONDAY, meal, meal.label) for meal in meals], MONDAY, MONDAY)
    assert [sitting.meal for sitting in week.days[0].sittings] == list(Meal)


def test_weeks_begin_where_the_days_do() -> None:
    """Days before the first are not made up."""
    wednesday = MONDAY + timedelta(days=2)
    (week, following) = weeks([], wednesday, MONDAY + timedelta(days=7))
    assert [day.date for day in week.days] == [wednesday, wednesday + timedelta(days=1), wednesday + timedelta(days=2)]
    assert (week.monday, following.monday) == (MONDAY, MONDAY + timedelta(days=7))
