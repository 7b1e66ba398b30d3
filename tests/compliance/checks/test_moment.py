"""A clock that is set back takes no check back with it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from compliance.checks.moment import SET_BACK, moment
from compliance.checks.run import SiteBusy, check_site
from compliance.models import Run
from menus.services.labels import record_label
from tests.cast import Cast

HAND = Run.Trigger.HAND


def test_without_checks_it_is_now(db: None) -> None:
    before = timezone.now()
    assert before <= moment() <= timezone.now()


@pytest.mark.parametrize("back", [timedelta(minutes=1), timedelta(hours=1)])
def test_a_check_after_the_clock_was_set_back_reads_what_is_new(cast: Cast, back: timedelta) -> None:
    """It counts as made at the moment of the one before, whose place it takes."""
    later = timezone.now() + back
    check_site(site=cast.ferrowick, trigger=HAND, as_of=later)
    record_label(product=cast.larder.rice, ingredients="rice, peanut flour", seen_on=timezone.now().date())
    assert check_site(site=cast.ferrowick, trigger=HAND).as_of == later


def test_a_moment_far_ahead_is_no_clock_set_back(cast: Cast) -> None:
    """Nobody takes over a date that was wrong by a day; the site waits until somebody sets the clock right."""
    check_site(site=cast.ferrowick, trigger=HAND, as_of=timezone.now() + SET_BACK + timedelta(minutes=1))
    with pytest.raises(SiteBusy):
        check_site(site=cast.ferrowick, trigger=HAND)
