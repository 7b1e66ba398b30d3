"""Days without meals: the plan follows the calendar, at once and back again, and weeks go by the calendar."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as some

from menus.models import Closure, CycleEntry, CycleMenu, Meal, Serving, Site
from menus.services.calendar import StaleClosure, lift_closure, record_closure
from menus.services.closed import closed_days, closed_weeks, is_served
from menus.services.servings import called_for, out_of_step, plan_servings
from menus.signals import facts_changed
from tests.factories import (
    ClosureFactory,
    CycleEntryFactory,
    CycleMenuFactory,
    ServingFactory,
    SiteFactory,
    this_monday,
)

pytestmark = pytest.mark.django_db
WEEK = timedelta(days=7)
ALL = list(Meal.values)


@pytest.fixture
def monday() -> date:
    """The Monday of next week: every day of it is still to come."""
    return this_monday() + WEEK


@pytest.fixture
def cycle(monday: date) -> CycleMenu:
    """A cycle of two weeks with lunch and a snack on each weekday, planned for four weeks from next Monday on."""
    cycle = CycleMenuFactory(weeks=2, starts_on=monday)
    for week in (1, 2):
        for weekday in range(5):
            for meal in (Meal.LUNCH, Meal.SNACK):
                CycleEntryFactory(cycle=cycle, week=week, weekday=weekday, meal=meal)
    assert plan_servings(site=cycle.site, first=monday, last=monday + 4 * WEEK - timedelta(days=1)) == 40
    return cycle


def planned(site: Site) -> set[tuple[date, str]]:
    return set(Serving.objects.planned().filter(site=site).values_list("date", "meal"))


def test_a_holiday_takes_its_dishes_off_the_plan_and_gives_them_back(cycle: CycleMenu, monday: date) -> None:
    """At once; a dish put there by hand stays, and days beside it are as they were."""
    by_hand = ServingFactory(site=cycle.site, date=monday, meal=Meal.SUPPER)
    before = planned(cycle.site)
    recorded = record_closure(
        site=cycle.site, first_day=monday, last_day=monday + timedelta(days=1), meals=ALL, reason="break"
    )
    assert recorded.dishes == 4
    assert {day for day, _ in before - planned(cycle.site)} == {monday, monday + timedelta(days=1)}
    assert (by_hand.date, by_hand.meal) in planned(cycle.site)
    assert lift_closure(recorded.closure).dishes == 4
    assert planned(cycle.site) == before


def test_a_half_day_leaves_out_what_it_names(cycle: CycleMenu, monday: date) -> None:
    record_closure(site=cycle.site, first_day=monday, last_day=monday, meals=[Meal.SNACK], reason="half day")
    assert (monday, Meal.LUNCH) in planned(cycle.site)
    assert (monday, Meal.SNACK) not in planned(cycle.site)


def test_a_later_check_does_not_put_them_back(cycle: CycleMenu, monday: date) -> None:
    """Planning again leaves the closed days out, and says that nothing is out of step."""
    record_closure(site=cycle.site, first_day=monday, last_day=monday, meals=ALL, reason="break")
    assert out_of_step([cycle.site], monday, monday + WEEK) == set()
    assert plan_servings(site=cycle.site, first=monday, last=monday + WEEK) == 0


def test_a_newer_version_gives_back_what_it_no_longer_closes(cycle: CycleMenu, monday: date) -> None:
    """Tuesday is taught after all; and one who still looks at the first version is told."""
    first = record_closure(
        site=cycle.site, first_day=monday, last_day=monday + timedelta(days=1), meals=ALL, reason="break"
    ).closure
    shorter = record_closure(
        site=cycle.site, first_day=monday, last_day=monday, meals=ALL, reason="break", replaces=first
    )
    assert shorter.dishes == 2
    assert (monday + timedelta(days=1), Meal.LUNCH) in planned(cycle.site)
    with pytest.raises(StaleClosure) as stale:
        lift_closure(first)
    assert stale.value.newer == shorter.closure
    lifted = lift_closure(shorter.closure).closure
    with pytest.raises(StaleClosure):
        record_closure(site=cycle.site, first_day=monday, last_day=monday, meals=ALL, reason="x", replaces=lifted)


def test_all_sites_at_once_and_no_other_site_otherwise(cycle: CycleMenu, monday: date) -> None:
    other = CycleEntryFactory(cycle=CycleMenuFactory(weeks=1, starts_on=monday), week=1, weekday=0).cycle
    plan_servings(site=other.site, first=monday, last=monday)
    here = record_closure(site=cycle.site, first_day=monday, last_day=monday, meals=ALL, reason="flood").closure
    assert planned(other.site)
    record_closure(site=None, first_day=monday, last_day=monday, meals=ALL, reason="holiday")
    assert not planned(other.site)
    assert lift_closure(here).dishes == 0, "the holiday of all sites still stands"


def test_days_gone_by_stay_as_they_were_served(cycle: CycleMenu) -> None:
    """A snow day written down the day after."""
    yesterday = this_monday() - timedelta(days=1)
    served = ServingFactory(site=cycle.site, date=yesterday, cycle=cycle)
    record_closure(site=cycle.site, first_day=yesterday, last_day=yesterday, meals=ALL, reason="snow")
    served.refresh_from_db()
    assert served.withdrawn_at is None


def test_whoever_checks_menus_is_told(cycle: CycleMenu, monday: date) -> None:
    told: list[object] = []

    def hear(instance: object, **_: object) -> None:
        told.append(instance)

    facts_changed.connect(hear, sender=Closure)
    recorded = record_closure(site=cycle.site, first_day=monday, last_day=monday, meals=ALL, reason="break")
    facts_changed.disconnect(hear, sender=Closure)
    assert told == [recorded.closure]


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"last_day": timedelta(days=-1)}, "before the first"),
        ({"last_day": timedelta(days=400)}, "more than a year"),
        ({"meals": []}, "at least one meal"),
        ({"meals": ["elevenses"]}, "at least one meal"),
        ({"reason": " "}, "blank"),
    ],
)
def test_what_cannot_be_is_refused(monday: date, said: dict[str, object], told: str) -> None:
    given = {"first_day": monday, "last_day": timedelta(0), "meals": ALL, "reason": "break"} | said
    given["last_day"] = monday + given["last_day"]  # type: ignore[operator]
    with pytest.raises(ValidationError, match=told):
        record_closure(site=SiteFactory(), **given)  # type: ignore[arg-type]
    assert not Closure.objects.exists()


def test_weeks_go_by_the_calendar_unless_the_cycle_waits(cycle: CycleMenu, monday: date) -> None:
    """After a closed first week comes week 2; of a cycle that waits, week 1."""
    ClosureFactory(site=cycle.site, first_day=monday, last_day=monday + timedelta(days=4))
    week_1 = set(CycleEntry.objects.filter(cycle=cycle, week=1).values_list("recipe", flat=True))
    week_2 = set(CycleEntry.objects.filter(cycle=cycle, week=2).values_list("recipe", flat=True))
    next_week = (monday + WEEK, monday + WEEK + timedelta(days=6))
    assert {recipe for (*_, recipe), _ in called_for([cycle.site], *next_week)} == week_2
    CycleMenu.objects.filter(pk=cycle.pk).update(pauses=True)
    assert {recipe for (*_, recipe), _ in called_for([cycle.site], *next_week)} == week_1


def test_a_cycle_that_waits_moves_all_that_follows(cycle: CycleMenu, monday: date) -> None:
    """The plan of later weeks is brought into step as well, and back when the week is taught after all."""
    CycleMenu.objects.filter(pk=cycle.pk).update(pauses=True)
    before = dict(Serving.objects.planned().filter(site=cycle.site).values_list("date", "recipe"))
    recorded = record_closure(
        site=cycle.site, first_day=monday, last_day=monday + timedelta(days=6), meals=ALL, reason="break"
    )
    assert out_of_step([cycle.site], monday, monday + 4 * WEEK - timedelta(days=1)) == set()
    lift_closure(recorded.closure)
    assert dict(Serving.objects.planned().filter(site=cycle.site).values_list("date", "recipe")) == before


def test_a_week_with_one_meal_left_counts(cycle: CycleMenu, monday: date) -> None:
    sittings = {(entry.weekday, entry.meal) for entry in cycle.entries.all()}
    closed = ClosureFactory.build(first_day=monday, last_day=monday + timedelta(days=3))
    half = ClosureFactory.build(first_day=monday, last_day=monday + timedelta(days=4), meals=[Meal.SNACK])
    friday = ClosureFactory.build(first_day=monday + timedelta(days=4), last_day=monday + timedelta(days=4))
    span = (monday, monday + timedelta(days=6))
    assert closed_weeks(closed_days([closed, half], *span), sittings) == set()
    assert closed_weeks(closed_days([closed, half, friday], *span), sittings) == {monday}
    assert closed_weeks(closed_days([closed, friday], *span), set()) == set()


@pytest.mark.parametrize("sites", [1, 12])
def test_the_queries_do_not_grow_with_the_sites(sites: int, monday: date) -> None:
    """Asking what is called for at one site or at a dozen."""
    there = [CycleEntryFactory(cycle=CycleMenuFactory(pauses=True)).cycle.site for _ in range(sites)]
    with CaptureQueriesContext(connection) as caught:
        list(called_for(there, monday, monday + WEEK))
    assert len(caught) == 3


STRETCH = some.tuples(some.integers(0, 30), some.integers(0, 9), some.sets(some.sampled_from(ALL), min_size=1))


@given(some.lists(STRETCH))
def test_a_meal_is_served_unless_a_closure_of_that_day_names_it(stretches: list[tuple[int, int, set[str]]]) -> None:
    """By looking at each closure for each day, one by one."""
    first = date(2026, 12, 1)
    made = [
        Closure(first_day=first + timedelta(days=at), last_day=first + timedelta(days=at + more), meals=sorted(meals))
        for at, more, meals in stretches
    ]
    closed = closed_days(made, first, first + timedelta(days=20))
    for day in (first + timedelta(days=n) for n in range(21)):
        for meal in ALL:
            assert is_served(closed, day, meal) == (not any(each.covers(day) and meal in each.meals for each in made))
