"""A class read once: what it says is what others find who ask by themselves."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from compliance.checks.children import periods
from compliance.checks.classday import read_class
from compliance.checks.pageread import mark_of, read_of_class
from roster.models import AllowanceWithdrawal, Child
from tests.cast import Cast
from tests.factories import AllowanceFactory, ChildFactory, EnrolmentFactory, RestrictionFactory, TextureLevelFactory


def today(cast: Cast) -> date:
    return timezone.now().astimezone(cast.ferrowick.zone).date()


@pytest.fixture
def mixed(cast: Cast) -> Cast:
    """Larks with all that a class can hold: no birth date, words without a substance, what is over or to come."""
    day = today(cast)
    EnrolmentFactory(child=ChildFactory(birth_date=None), classroom=cast.larks)
    RestrictionFactory(child=cast.bao, substance="", told="Ask before any new food.")
    TextureLevelFactory(child=cast.bao)
    TextureLevelFactory(child=cast.ravi)
    RestrictionFactory(child=cast.bao, substance="kiwi", ends_on=day - timedelta(days=1))
    RestrictionFactory(child=cast.bao, substance="sesame", starts_on=day + timedelta(days=1))
    gone = EnrolmentFactory(child=ChildFactory(), classroom=cast.larks, ends_on=day - timedelta(days=1))
    RestrictionFactory(child=gone.child, substance="milk")
    first = RestrictionFactory(child=cast.bao, substance="egg")
    RestrictionFactory(child=cast.bao, substance="egg", strictness="ingredient", replaces=first)
    for days in (-1, 0):
        AllowanceFactory(restriction=first, starts_on=day - timedelta(days=5), ends_on=day + timedelta(days=days))
    taken_back = AllowanceFactory(restriction=first, about="milk")
    AllowanceWithdrawal.objects.create(
        allowance=taken_back, reason="Mistaken.", withdrawn_by=cast.hakim, signature="H."
    )
    return cast


def test_what_was_read_is_what_a_page_finds_that_looks_again(mixed: Cast) -> None:
    """Else every answer would say at once that it is out of date, or never."""
    day = today(mixed)
    for other in (day - timedelta(days=1), day, day + timedelta(days=1)):
        now = timezone.now()
        assert mark_of(read_class(mixed.larks, other, now).read) == read_of_class(mixed.larks, other, now)


def test_the_types_are_those_of_the_night(mixed: Cast) -> None:
    """Restrictions and allowances come down to the same, read for one class or for a site."""
    day, now = today(mixed), timezone.now()
    there = read_class(mixed.larks, day, now)
    children = Child.objects.filter(pk__in=[stay.child_id for stay in there.stays])
    assert there.periods == periods(children, day, day, now)
    assert any(period.type.allowed for period in there.periods)


def test_an_empty_class_is_nobody(cast: Cast, django_assert_num_queries) -> None:
    """And nothing is asked about the children who are not there."""
    room = cast.ferrowick.classrooms.create(name="Wrens")
    with django_assert_num_queries(1):
        there = read_class(room, today(cast), timezone.now())
    assert (there.births, there.periods, list(there.read)) == ([], [], [])
