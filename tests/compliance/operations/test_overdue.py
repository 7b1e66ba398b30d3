"""Sites that were last checked too long ago: which they are, since when, why, and what to do."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from compliance.models import CheckedDay
from compliance.operations.overdue import OVERDUE_AFTER, Overdue, overdue_sites
from compliance.operations.scope import Scope
from menus.models import Site
from tests.compliance.operations.rows import failed_run, run_of
from tests.factories import SiteFactory
from tests.web.pages import queries

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


def checked(site: Site, ago: timedelta) -> None:
    """The site's plan of today stands by a check of that long ago."""
    now = timezone.now()
    CheckedDay.objects.create(site=site, day=now.astimezone(site.zone).date(), run=run_of(site, now - ago))


def late(now: datetime | None = None) -> list[Overdue]:
    return overdue_sites(Scope.everything(), now or timezone.now())


def test_a_site_checked_last_night_is_not_late() -> None:
    """Nor is one at the end of the allowance."""
    for ago in (HOUR, OVERDUE_AFTER - timedelta(minutes=1)):
        checked(SiteFactory.create(), ago)
    assert late() == []


def test_a_site_that_failed_is_told_with_the_reason() -> None:
    """Since when, why and what to do."""
    site, now = SiteFactory.create(name="Ferrowick Elementary School"), timezone.now()
    checked(site, 31 * HOUR)
    failed_run(site, now - 30 * HOUR, error="RecipeCycle: older")
    newest = failed_run(site, now - 3 * HOUR)
    (told,) = late()
    assert told.since(now) == "Ferrowick Elementary School was last checked 31 hours ago"
    assert told.why == "Its check failed: RecipeCycle: a dish holds itself"
    assert told.cause == f"Its check failed; the page of run {newest.pk} says why."
    assert told.what_to_do.startswith("Mend what the error names")


def test_a_failure_before_the_last_check_is_over() -> None:
    """It is no reason any more; nobody has begun a check since."""
    site, now = SiteFactory.create(), timezone.now()
    failed_run(site, now - 40 * HOUR)
    checked(site, 31 * HOUR)
    (told,) = late()
    assert told.failure is None and told.why == "No check of it has come to an end since."
    assert "worker and beat" in told.what_to_do


def test_a_site_never_checked_for_today_is_late() -> None:
    """A check of next week says nothing of today."""
    site, now = SiteFactory.create(name="Tansy Gate Daycare"), timezone.now()
    run = run_of(site, now)
    CheckedDay.objects.create(site=site, day=now.date() + timedelta(days=7), run=run)
    (told,) = late()
    assert told.since(now) == "For today Tansy Gate Daycare was never checked"


def test_today_is_the_day_on_the_clock_of_the_site() -> None:
    """Late in the evening in UTC it is tomorrow in Kathmandu already, for which there was a check."""
    site = SiteFactory.create(time_zone="Asia/Kathmandu")
    evening = timezone.now().replace(hour=22, minute=0)
    there = evening.astimezone(site.zone).date()
    assert there == evening.date() + timedelta(days=1)
    CheckedDay.objects.create(site=site, day=there, run=run_of(site, evening - HOUR))
    assert late(evening) == []


def test_only_sites_that_one_is_told_of() -> None:
    """The other is late too, and not in the list."""
    mine, _ = SiteFactory.create(), SiteFactory.create()
    assert [each.site for each in overdue_sites(Scope({mine.pk: mine}, is_all=False), timezone.now())] == [mine]


def test_queries_do_not_grow() -> None:
    """One site or ten."""
    failed_run(SiteFactory.create(), timezone.now())
    few = queries(late)
    for _ in range(9):
        failed_run(SiteFactory.create(), timezone.now())
    assert queries(late) == few == 4  # sites, their days, the newest failures
