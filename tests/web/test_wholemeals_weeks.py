"""Asking for one meal or several weeks on the page, how far it has come, and what licensed staff read of nutrients."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.utils import timezone
from kombu.exceptions import OperationalError

from compliance.checks.wholemeals.job import work
from compliance.models import MealJob, MealPlan
from menus.models import Recipe
from menus.services.patterns import set_pattern
from roster.models import User
from tests.cast import Cast
from tests.compliance.checks.test_wholemeals_figures import DAYS, monday, of
from tests.compliance.checks.test_wholemeals_span import beyond, repeats
from tests.factories import AlternativeFactory, ServingFactory
from tests.ownlunch import checked, day_of_it, on_hand, set_the_table
from tests.web.pages import as_user, words

pytestmark = pytest.mark.django_db

PAGE, WORK = "/kitchen/meals/", "/kitchen/meals/work-out/"
WEEKS, NOW = "/kitchen/meals/weeks/", "/kitchen/meals/weeks/now/"


@pytest.fixture
def kitchen(cast: Cast) -> Cast:
    """Tomorrow's lunch, checked, and what is on hand beside it."""
    on_hand(cast.ferrowick, set_the_table(cast))
    checked(cast)
    return cast


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[int]]:
    """The requests that the queue was given."""
    found: list[int] = []
    monkeypatch.setattr("compliance.tasks.work_out_meals.delay", found.append)
    yield found


def asked(user: User, span: str, day: Any = None) -> HttpResponse:
    """Choose what to work out, press the button and follow."""
    at = (day or day_of_it()).isoformat()
    return as_user(user).post(f"{WORK}?site=ferrowick&day={at}", {"span": span}, follow=True)


def test_the_page_offers_the_meals_of_the_day_its_week_and_weeks(kitchen: Cast) -> None:
    shown = words(as_user(kitchen.greta).get(PAGE, {"site": "ferrowick", "day": day_of_it().isoformat()}))
    assert "the week of" in shown and "lunch of this day alone" in shown and "12 weeks from" in shown
    assert "supper of this day alone" not in shown


def test_one_meal_is_worked_out_alone_and_the_page_says_so(kitchen: Cast) -> None:
    asked(kitchen.greta, "week")
    shown = words(asked(kitchen.greta, "lunch"))
    assert "Worked out: lunch of" in shown and "Lunch was worked out by itself on" in shown
    assert MealPlan.objects.filter(day=day_of_it(), meal="lunch").count() == 1


def test_what_is_no_choice_is_refused_in_words(kitchen: Cast) -> None:
    shown = words(asked(kitchen.greta, "99"))
    assert "Nothing was worked out. Choose one of the meals of that day, its week, or a number of weeks." in shown
    assert not MealPlan.objects.exists() and not MealJob.objects.exists()


def test_several_weeks_are_one_task_and_their_page_says_how_far_it_is(
    kitchen: Cast, sent: list[int], django_capture_on_commit_callbacks: Any
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        shown = words(asked(kitchen.greta, "4"))
    job = MealJob.objects.get()
    assert sent == [job.pk] and "4 weeks from" in shown and "Waiting to begin" in shown
    assert "Asked again every 3 seconds" in shown
    assert "hx-get" not in as_user(kitchen.greta).get(f"{WEEKS}?site=ferrowick&still=1").content.decode()
    work(job.pk)
    assert "What the weeks come to" in as_user(kitchen.greta).get(f"{NOW}?site=ferrowick").content.decode()
    now = words(as_user(kitchen.greta).get(f"{WEEKS}?site=ferrowick"))
    assert "What the weeks come to" in now and "2 Sunflower rice bowl" in now and "Proven for 4 weeks together" in now


def test_who_asks_while_weeks_are_worked_out_is_told_to_wait(kitchen: Cast, sent: list[int]) -> None:
    asked(kitchen.greta, "4")
    assert "Wait for their end, then ask again" in words(asked(kitchen.greta, "2"))
    assert MealJob.objects.count() == 1


def test_without_a_queue_the_weeks_fail_and_it_is_said_what_to_do(
    kitchen: Cast, monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks: Any
) -> None:
    def away(*_: Any) -> None:
        raise OperationalError("away")

    monkeypatch.setattr("compliance.tasks.work_out_meals.delay", away)
    with django_capture_on_commit_callbacks(execute=True):
        asked(kitchen.greta, "4")
    shown = words(as_user(kitchen.greta).get(f"{WEEKS}?site=ferrowick"))
    assert "It failed, and nothing was kept of it. Ask again" in shown


def test_lost_weeks_are_said_to_be_lost(kitchen: Cast, sent: list[int]) -> None:
    asked(kitchen.greta, "4")
    MealJob.objects.update(asked_at=timezone.now() - timedelta(hours=1))
    assert "it was lost" in words(as_user(kitchen.greta).get(f"{WEEKS}?site=ferrowick"))


def test_an_outlook_is_marked_and_nothing_is_printed_of_it(kitchen: Cast) -> None:
    names = {"main": "Beef and peanut rice", "apple": "Apple", "milk": "Milk"}
    repeats(kitchen, {short: Recipe.objects.get(name=name) for short, name in names.items()})
    shown = words(asked(kitchen.greta, "week", beyond()))
    assert "An outlook. No check reaches this day yet." in shown and "Print" not in shown
    for sheet in ("counts", "cards"):
        at = {"site": "ferrowick", "day": beyond().isoformat()}
        assert as_user(kitchen.greta).get(f"/kitchen/meals/{sheet}.pdf", at).status_code == 404


def test_an_administrator_reads_the_weeks_and_does_not_ask_for_any(kitchen: Cast, sent: list[int]) -> None:
    assert asked(kitchen.june, "4").status_code == 404 and not MealJob.objects.exists()
    assert "Nobody has asked for several weeks yet." in words(as_user(kitchen.june).get(f"{WEEKS}?site=ferrowick"))


@pytest.mark.parametrize("who", ["rosa", "pavel", "amara", "wren"])
def test_others_do_not_come_in(kitchen: Cast, who: str) -> None:
    for page in (WEEKS, NOW):
        assert as_user(getattr(kitchen, who)).get(f"{page}?site=ferrowick").status_code == 404


@pytest.fixture
def salty(cast: Cast) -> Cast:
    """Three lunches that keep their figures, and for Kofi, who avoids egg, nothing but a salty dish."""
    set_pattern(site=cast.ferrowick, meal="lunch", program="nslp-lunch", group="K-5", starts_on=monday())
    for each in (of("Chicken, cooked", "chicken, egg", 350, 600, contains="Egg."), of("Rice", "brown rice", 250, 300)):
        for number in range(DAYS):
            ServingFactory.create(site=cast.ferrowick, recipe=each, date=monday() + timedelta(days=number))
    AlternativeFactory(site=cast.ferrowick, recipe=of("Turkey, cooked", "turkey", 350, 1100))
    checked(cast)
    return cast


def test_licensed_staff_read_what_a_swap_does_to_a_childs_week(salty: Cast) -> None:
    asked(salty.greta, "week", monday())
    shown = words(as_user(salty.hakim).get(PAGE, {"site": "ferrowick", "day": monday().isoformat()}))
    assert "sodium: 1400, asked at most 1110 mg a meal; the menu 900. Over the weekly limit." in shown
    assert "energy: 600, asked 550 to 650 kcal a meal; the menu 600." in shown
    kitchens = words(as_user(salty.greta).get(PAGE, {"site": "ferrowick", "day": monday().isoformat()}))
    assert "sodium" not in kitchens and "1 weekly limit not known to be kept" in kitchens


def test_the_cost_of_extra_portions_stands_on_the_page(kitchen: Cast) -> None:
    for each in kitchen.ferrowick.alternatives.all():
        each.cost = 2
        each.save()
    shown = words(asked(kitchen.greta, "week"))
    assert "Cost of these portions: 6.00." in shown and "3 extra portions for 6.00" in shown
