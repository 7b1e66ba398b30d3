"""What children avoid on a day, in the words of a class list."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.avoided import NOTHING, avoided_by
from roster.services import record_restriction
from tests.cast import Cast
from tests.web.pages import queries

pytestmark = pytest.mark.django_db


def test_foods_say_how_far_and_what_people_see_to_stands_apart(cast: Cast) -> None:
    """Each food once, at its farthest, and nothing of a child without any."""
    record_restriction(child=cast.kofi, substance="", told="Level by the plan.")
    record_restriction(child=cast.kofi, substance="egg", strictness="ingredient", basis="policy")
    found = avoided_by([cast.kofi, cast.yusuf, cast.bao], timezone.localdate(), timezone.now())
    assert found[cast.kofi.pk].foods == ("egg, traces too", "sesame, traces too")
    assert found[cast.kofi.pk].told == ("Level by the plan.",)
    assert found[cast.yusuf.pk].foods == ("pork as an ingredient",)
    assert found.get(cast.bao.pk, NOTHING).foods == ()


def test_it_is_what_holds_on_that_day(cast: Cast) -> None:
    """Neither what has ended, nor what is still to begin."""
    today = timezone.localdate()
    record_restriction(child=cast.bao, substance="kiwi", starts_on=today + timedelta(days=2), basis="family")
    assert avoided_by([cast.bao], today, timezone.now()) == {}
    later = avoided_by([cast.bao], today + timedelta(days=2), timezone.now())
    assert later[cast.bao.pk].foods == ("kiwi, traces too",)


def test_one_query_for_many(cast: Cast) -> None:
    """However many children."""
    children = [cast.kofi, cast.yusuf, cast.noor, cast.mateo]
    assert queries(lambda: avoided_by(children, timezone.localdate(), timezone.now())) == 1
