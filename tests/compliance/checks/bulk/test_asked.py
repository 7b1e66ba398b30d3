"""Whom checks of several sites ask about a child that is at more than one of them."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.slices import check_sites
from compliance.models import Referral, Run
from menus.models import Recipe, Serving, Site
from tests.factories import ClassroomFactory, EnrolmentFactory, RestrictionFactory, ServingFactory, cooked, labelled

pytestmark = pytest.mark.django_db


@pytest.fixture
def stew() -> Recipe:
    """A dish with a word that nobody can read."""
    return cooked("stew", labelled("rice, zorblin"))


@pytest.fixture
def sites() -> list[Site]:
    """Two sites, in the order of their ids."""
    return [ClassroomFactory().site for _ in range(2)]


@pytest.mark.parametrize("asking", [0, 1])
def test_a_question_moves_with_the_dish_to_the_other_site_of_a_child(
    stew: Recipe, sites: list[Site], asking: int
) -> None:
    """It falls away where it was asked and is asked where the dish is now, whichever is looked at first."""
    before, after = sites[1 - asking], sites[asking]
    child = RestrictionFactory(substance="milk").child
    for site in sites:
        EnrolmentFactory(child=child, classroom=site.classrooms.get())
    tomorrow = timezone.now().date() + timedelta(days=1)
    ServingFactory(site=before, recipe=stew, date=tomorrow)
    check_sites(sites, trigger=Run.Trigger.NIGHT)
    assert [each.site for each in Referral.objects.waiting()] == [before]
    Serving.objects.update(withdrawn_at=timezone.now())
    ServingFactory(site=after, recipe=stew, date=tomorrow)
    check_sites(sites, trigger=Run.Trigger.NIGHT)
    assert [each.site for each in Referral.objects.waiting()] == [after]
