"""What the coming meals hold for one child: each dish once, with all that it is withheld for, and nobody else's."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.checks.ownmeals import Meeting, meetings
from compliance.checks.run import check_site
from compliance.models import Run
from compliance.rules.values import Outcome
from menus.labels.evidence import Level
from menus.models import Meal
from roster.models import Child
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import ChildFactory, ServingFactory

pytestmark = pytest.mark.django_db


def met(child: Child) -> dict[str, Meeting]:
    today = timezone.localdate()
    return {each.dish: each for each in meetings(child, today, today)}


def checked(cast: Cast) -> None:
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)


def test_a_dish_stands_once_with_everything_that_speaks_against_it(cast: Cast) -> None:
    """Noor is kept from gluten and peanut: both are in the sandwich, and the words of the labels stand beside each."""
    record_restriction(child=cast.noor, substance="peanut")
    checked(cast)
    sandwich = met(cast.noor)["Peanut butter sandwich"]
    assert sandwich.outcome is Outcome.WITHHOLD
    assert {(each.substance, each.level) for each in sandwich.why} == {
        ("gluten", Level.PRESENT),
        ("peanut", Level.PRESENT),
    }
    assert {each.words for each in sandwich.why} == {"whole wheat flour", "peanuts"}


def test_a_dish_of_two_meals_is_said_once_with_both(cast: Cast) -> None:
    """The bar at lunch and again at snack."""
    ServingFactory.create(site=cast.ferrowick, meal=Meal.SNACK, recipe=cast.dishes.oat_bar)
    checked(cast)
    today = timezone.localdate()
    found = [each for each in meetings(cast.anneke, today, today) if each.dish == "Oat bar"]
    assert [set(each.meals) for each in found] == [{Meal.LUNCH, Meal.SNACK}]


def test_possible_presence_is_told_as_that(cast: Cast) -> None:
    """Anneke and the bar that may contain milk."""
    checked(cast)
    (why,) = met(cast.anneke)["Oat bar"].why
    assert (why.substance, why.level) == ("milk", Level.POSSIBLE)


def test_what_came_after_the_last_check_is_not_known_yet(cast: Cast) -> None:
    """Not silence: every dish waits until it is checked again."""
    checked(cast)
    record_restriction(child=cast.bao, substance="rice")
    waiting = met(cast.bao)
    assert waiting and all(each.outcome is Outcome.REFER for each in waiting.values())
    assert {why.level for each in waiting.values() for why in each.why} == {Level.UNREAD}


def test_it_is_what_the_report_of_the_site_says_of_that_child(cast: Cast) -> None:
    """No more and no less, for every child of the cast."""
    checked(cast)
    today = timezone.localdate()
    rows = find_exceptions(None, ExceptionFilter(today, today, site=cast.ferrowick))
    for child in (cast.noor, cast.mateo, cast.ifeoma, cast.yusuf, cast.saoirse, cast.kofi, cast.bao):
        assert met(child).keys() == {row.dish for row in rows if row.child == child}


def test_days_without_a_check_and_a_child_without_a_site_bring_nothing(cast: Cast) -> None:
    """The page says that no conflict was found in the records checked, and what that is worth."""
    checked(cast)
    later = timezone.localdate() + timedelta(days=3)
    assert meetings(cast.noor, later, later) == ()
    assert meetings(ChildFactory.create(), later, later) == ()
