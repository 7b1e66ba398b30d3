"""Meals worked out for other days than a week: one meal, several weeks together, and days that no check reaches."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.conf import settings
from django.utils import timezone

from compliance.checks.wholemeals.gather import gather
from compliance.checks.wholemeals.job import JobOpen, ask, newest_job, work
from compliance.checks.wholemeals.keep import Worked, keep, work_out, work_out_meal
from compliance.checks.wholemeals.standing import standing_on
from compliance.models import MealJob, MealPlan
from menus.models import Recipe, Serving
from menus.models.alternative import Counted
from roster.models import Basis
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import AlternativeFactory, CycleEntryFactory, CycleMenuFactory, ServingFactory
from tests.ownlunch import checked, day_of_it, monday_of_it, on_hand, set_the_table

pytestmark = pytest.mark.django_db

WEEK = timedelta(weeks=1)
SIX_DAYS = timedelta(days=6)


@pytest.fixture
def table(cast: Cast) -> dict[str, Recipe]:
    """Tomorrow's lunch, not checked yet, with nothing on hand."""
    return set_the_table(cast)


def meals(plan: MealPlan) -> dict[str, dict[str, Any]]:
    """The plan's meals by day."""
    return {meal["day"]: meal for meal in plan.result["meals"]}


def gets(meal: dict[str, Any], child: Any) -> list[str]:
    """What one child gets from what is on hand."""
    [tray] = [each for each in meal["trays"] if each["child"] == child.pk]
    return list(tray["gets"])


def beyond() -> date:
    """A day that no check reaches, with the Monday of its week beyond their reach too."""
    reach = timezone.localdate() + timedelta(days=settings.NIGHTLY_WINDOW_DAYS - 1)
    return reach + timedelta(days=7 - reach.weekday())


def repeats(cast: Cast, table: dict[str, Recipe], weekday: int = 0) -> None:
    """A cycle of one week that calls for the lunch on one weekday."""
    cycle = CycleMenuFactory.create(site=cast.ferrowick, name="Repeats", weeks=1)
    for name in ("main", "apple", "milk"):
        CycleEntryFactory(cycle=cycle, week=1, weekday=weekday, recipe=table[name])


def test_one_meal_is_worked_out_alone_and_goes_before_an_older_plan_of_its_week(
    cast: Cast, table: dict[str, Recipe]
) -> None:
    checked(cast)
    week = work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    on_hand(cast.ferrowick, table)
    assert gets(meals(week)[day_of_it().isoformat()], cast.mateo) == []
    alone = work_out_meal(site=cast.ferrowick, day=day_of_it(), meal="lunch", user=cast.greta)
    standing = standing_on(cast.ferrowick, day_of_it())
    assert standing is not None and standing.alone == (alone,)
    assert gets(meals(standing.plan)[day_of_it().isoformat()], cast.mateo) == ["Sunflower rice bowl"]
    assert standing.changes() == ["what is planned or on hand"], "the week was worked out before that"
    work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    again = standing_on(cast.ferrowick, day_of_it())
    assert again is not None and not again.alone and again.changes() == []


def test_one_meal_leaves_the_others_of_its_day_alone(cast: Cast, table: dict[str, Recipe]) -> None:
    ServingFactory.create(site=cast.ferrowick, recipe=table["milk"], date=day_of_it(), meal="snack")
    checked(cast)
    alone = work_out_meal(site=cast.ferrowick, day=day_of_it(), meal="snack", user=cast.greta)
    assert [meal["meal"] for meal in alone.result["meals"]] == ["snack"]
    assert (alone.day, alone.meal, alone.monday) == (day_of_it(), "snack", monday_of_it())


def test_one_meal_takes_no_portions_that_the_week_gives_to_others(cast: Cast, table: dict[str, Recipe]) -> None:
    """Two portions a week, both at lunch: none is left for the snack until the week is worked out again."""
    AlternativeFactory(site=cast.ferrowick, recipe=table["bowl"], portions=2)
    checked(cast)
    work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    ServingFactory.create(site=cast.ferrowick, recipe=table["main"], date=day_of_it(), meal="snack")
    checked(cast)
    snack = work_out_meal(site=cast.ferrowick, day=day_of_it(), meal="snack", user=cast.greta)
    assert snack.result["meals"][0]["extra"] == []
    lunch = work_out_meal(site=cast.ferrowick, day=day_of_it(), meal="lunch", user=cast.greta)
    assert [row["portions"] for row in lunch.result["meals"][0]["extra"]] == [2], "its own count as free"


@pytest.mark.parametrize(("counted", "portions"), [(Counted.WEEK, [2, 2]), (Counted.ALL, [2, 0])])
def test_a_stock_counts_for_each_week_or_for_all_of_them(
    cast: Cast, table: dict[str, Recipe], counted: Counted, portions: list[int]
) -> None:
    AlternativeFactory(site=cast.ferrowick, recipe=table["bowl"], portions=2, counted=counted)
    for name in ("main", "apple", "milk"):
        ServingFactory.create(site=cast.ferrowick, recipe=table[name], date=day_of_it() + WEEK)
    checked(cast)
    first, second = keep(Worked(cast.ferrowick, monday_of_it(), monday_of_it() + WEEK + SIX_DAYS), cast.greta)
    given = [sum(row["portions"] for meal in plan.result["meals"] for row in meal["extra"]) for plan in (first, second)]
    assert sorted(given, reverse=True) == portions
    assert first.result["levels"] == second.result["levels"], "proven for both weeks together"


def test_a_stock_in_all_is_not_given_out_twice_by_two_plans(cast: Cast, table: dict[str, Recipe]) -> None:
    AlternativeFactory(site=cast.ferrowick, recipe=table["bowl"], portions=2, counted=Counted.ALL)
    for name in ("main", "apple", "milk"):
        ServingFactory.create(site=cast.ferrowick, recipe=table[name], date=day_of_it() + WEEK)
    checked(cast)
    work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    later = work_out(site=cast.ferrowick, monday=monday_of_it() + WEEK, user=cast.greta)
    assert all(not meal["extra"] for meal in later.result["meals"])


def test_a_day_that_no_check_reaches_is_an_outlook_by_recipes_alone(cast: Cast, table: dict[str, Recipe]) -> None:
    """What the cycle calls for is not stored, and is judged as a dish on hand is: by its recipe and labels."""
    on_hand(cast.ferrowick, table)
    repeats(cast, table)
    plan = work_out(site=cast.ferrowick, monday=beyond(), user=cast.greta)
    lunch = meals(plan)[beyond().isoformat()]
    assert lunch["outlook"] and lunch["unchecked"] == []
    assert gets(lunch, cast.mateo) == ["Sunflower rice bowl"] and gets(lunch, cast.anneke) == ["Soy drink"]
    assert not Serving.objects.filter(date=beyond()).exists(), "nothing is planned by it"


def test_a_day_within_reach_that_was_not_checked_is_no_outlook(cast: Cast, table: dict[str, Recipe]) -> None:
    on_hand(cast.ferrowick, table)
    plan = work_out(site=cast.ferrowick, monday=monday_of_it(), user=cast.greta)
    lunch = meals(plan)[day_of_it().isoformat()]
    assert not lunch["outlook"] and len(lunch["unchecked"]) == 3


def test_what_stands_on_the_plan_of_a_later_day_is_not_called_for_twice(cast: Cast, table: dict[str, Recipe]) -> None:
    repeats(cast, table)
    ServingFactory.create(site=cast.ferrowick, recipe=table["main"], date=beyond())
    [lunch] = gather(cast.ferrowick, beyond(), beyond() + SIX_DAYS, timezone.now()).meals
    assert sorted(each.recipe.name for each in lunch.servings) == ["Apple", "Beef and peanut rice", "Milk"]


def test_an_outlook_says_when_the_cycle_has_changed(cast: Cast, table: dict[str, Recipe]) -> None:
    repeats(cast, table)
    work_out(site=cast.ferrowick, monday=beyond(), user=cast.greta)
    standing = standing_on(cast.ferrowick, beyond())
    assert standing is not None and standing.changes() == []
    CycleEntryFactory(cycle=cast.ferrowick.cycles.get(name="Repeats"), week=1, weekday=2, recipe=table["bowl"])
    assert standing.changes() == ["what is planned or on hand"]


def test_weeks_are_asked_for_once_and_kept_week_by_week(cast: Cast, table: dict[str, Recipe]) -> None:
    on_hand(cast.ferrowick, table)
    checked(cast)
    job = ask(site=cast.ferrowick, monday=monday_of_it(), weeks=4, user=cast.greta)
    with pytest.raises(JobOpen, match="Wait for their end"):
        ask(site=cast.ferrowick, monday=monday_of_it(), weeks=2, user=cast.greta)
    work(job.pk)
    work(job.pk)  # a second delivery
    job.refresh_from_db()
    assert job.state == MealJob.State.KEPT and job.ended_at
    plans = MealPlan.objects.filter(site=cast.ferrowick).order_by("monday")
    assert [plan.monday for plan in plans] == [monday_of_it() + WEEK * number for number in range(4)]
    assert {(plan.result["first"], plan.result["last"]) for plan in plans} == {
        (monday_of_it().isoformat(), (monday_of_it() + 3 * WEEK + SIX_DAYS).isoformat())
    }
    assert ask(site=cast.ferrowick, monday=monday_of_it(), weeks=2, user=cast.greta).pk != job.pk


def test_weeks_that_fail_say_so_and_keep_nothing(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    job = ask(site=cast.ferrowick, monday=monday_of_it(), weeks=2, user=cast.greta)

    def fails(*_: Any) -> None:
        raise RuntimeError("no")

    monkeypatch.setattr("compliance.checks.wholemeals.keep.choose", fails)
    with pytest.raises(RuntimeError):
        work(job.pk)
    newest = newest_job(cast.ferrowick)
    assert newest is not None and newest.state == MealJob.State.FAILED and not MealPlan.objects.exists()


def test_weeks_of_which_nothing_is_heard_are_lost(cast: Cast) -> None:
    job = ask(site=cast.ferrowick, monday=monday_of_it(), weeks=2, user=cast.greta)
    later = timezone.now() + timedelta(minutes=31)
    assert job.is_open(timezone.now()) and not job.is_open(later) and job.is_lost(later)


def test_queries_grow_with_the_weeks_and_not_with_children(
    cast: Cast, table: dict[str, Recipe], django_assert_max_num_queries: Any
) -> None:
    checked(cast)

    def read() -> None:
        gather(cast.ferrowick, monday_of_it(), monday_of_it() + SIX_DAYS, timezone.now())

    with django_assert_max_num_queries(60) as few:
        read()
    for child in (cast.bao, cast.kofi, cast.yusuf):
        record_restriction(child=child, substance="peanut", basis=Basis.REPORTED)
    checked(cast)
    with django_assert_max_num_queries(len(few)):
        read()
