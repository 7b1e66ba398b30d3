"""When the nightly check of a site is due, and which sites still wait for theirs."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from django_celery_beat.models import IntervalSchedule, PeriodicTask
from hypothesis import given
from hypothesis import strategies as st

from compliance.checks.night import check_and_tell
from compliance.checks.schedule import OLD_TASK, drop_old_rows, failed_lately, last_due, missed, unchecked
from compliance.models import Run
from menus.models import Site
from tests.cast import Cast
from tests.factories import DeliveryFactory, SiteFactory
from tests.nights import complete

AT_TWO = "2026-09-07T12:00"


def utc(text: str) -> datetime:
    """The moment, given in UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("zone", "hour", "now", "due"),
    [
        ("America/Chicago", None, "2026-09-07T12:00", "2026-09-07T07:00"),  # 02:00 CDT
        ("America/Chicago", None, "2026-09-07T06:59", "2026-09-06T07:00"),  # a minute before it
        ("America/Chicago", None, "2026-09-07T07:00", "2026-09-07T07:00"),  # on the minute
        ("America/Chicago", None, "2026-12-07T12:00", "2026-12-07T08:00"),  # 02:00 CST
        ("America/Chicago", None, "2027-03-14T12:00", "2027-03-14T08:00"),  # the night without a 02:00
        ("America/Chicago", 1, "2026-11-01T06:00", "2026-11-01T06:00"),  # the first 01:00 of two
        ("America/Chicago", 1, "2026-11-01T07:30", "2026-11-01T06:00"),  # after the second
        ("America/New_York", None, "2026-11-01T12:00", "2026-11-01T07:00"),  # the night with 01:00 twice
        ("Pacific/Auckland", None, "2026-09-07T15:00", "2026-09-07T14:00"),  # already tomorrow there
        ("Australia/Lord_Howe", 2, "2026-10-03T20:00", "2026-10-03T15:30"),  # half an hour is skipped: no 02:00 there
        ("Australia/Lord_Howe", 1, "2027-04-03T16:00", "2027-04-03T14:00"),  # 01:30 to 02:00 comes twice, 01:00 once
        ("Asia/Kathmandu", 2, "2026-09-07T12:00", "2026-09-06T20:15"),  # three quarters of an hour off
    ],
)
def test_due_on_the_clock_of_the_site(zone: str, hour: int | None, now: str, due: str) -> None:
    """Source: IANA time zone database, by zoneinfo.

    Chicago: daylight time ends 2026-11-01 and begins 2027-03-14. Lord Howe: half an hour is skipped on 2026-10-04 and
    comes twice on 2027-04-04. Kathmandu: UTC+5:45 all year.
    """
    site = Site(code="x", name="X", time_zone=zone, nightly_hour=hour)
    assert last_due(site, utc(now)) == utc(due)


@pytest.mark.parametrize("zone", ["America/Chicago", "Australia/Lord_Howe", "Asia/Kathmandu", "Europe/Dublin"])
@pytest.mark.parametrize("hour", [0, 1, 2, 23])
def test_a_year_has_a_night_for_every_day(zone: str, hour: int) -> None:
    """Asked every half hour for a year with both daylight changes: each day of the site's clock has exactly one."""
    site = Site(code="x", name="X", time_zone=zone, nightly_hour=hour)
    moments = [utc("2026-06-01T00:00") + timedelta(minutes=30 * number) for number in range(2 * 24 * 366)]
    due = sorted({last_due(site, moment) for moment in moments})
    assert set(Counter(each.astimezone(ZoneInfo(zone)).date() for each in due).values()) == {1}
    hours = {(after - before) / timedelta(hours=1) for before, after in pairwise(due)}
    assert hours <= {23, 23.5, 24, 24.5, 25}
    assert len(due) in (366, 367)


@given(
    st.sampled_from(["America/Chicago", "Australia/Lord_Howe", "Asia/Kathmandu", "America/St_Johns", "Pacific/Apia"]),
    st.integers(0, 23),
    st.integers(0, 15 * 366 * 24 * 60).map(lambda minutes: utc("2020-01-01T00:00") + timedelta(minutes=minutes)),
    st.timedeltas(timedelta(0), timedelta(hours=30)),
)
def test_what_was_due_only_moves_on(zone: str, hour: int, now: datetime, later: timedelta) -> None:
    """It is never ahead of now, never more than 25 hours ago, and never goes back."""
    site = Site(code="x", name="X", time_zone=zone, nightly_hour=hour)
    due = last_due(site, now)
    assert now - timedelta(hours=25) < due <= now
    assert due <= last_due(site, now + later)


@pytest.mark.django_db
class TestUnchecked:
    """Which sites still wait, by the moment at which they were due."""

    def test_sites_never_checked(self) -> None:
        """By the hour of their own clocks, or their own hour."""
        chicago, early = SiteFactory(time_zone="America/Chicago"), SiteFactory(nightly_hour=1, time_zone="UTC")
        kathmandu = SiteFactory(time_zone="Asia/Kathmandu")
        assert unchecked(utc(AT_TWO)) == {
            utc("2026-09-06T20:15"): [kathmandu],
            utc("2026-09-07T01:00"): [early],
            utc("2026-09-07T07:00"): [chicago],
        }

    def test_the_hour_of_the_settings_counts_at_once(self, settings) -> None:
        """For sites without one of their own."""
        usual, own = SiteFactory(time_zone="UTC"), SiteFactory(time_zone="UTC", nightly_hour=4)
        settings.NIGHTLY_HOUR = 1
        assert unchecked(utc(AT_TWO)) == {utc("2026-09-07T01:00"): [usual], utc("2026-09-07T04:00"): [own]}

    def test_a_check_since_then_does(self) -> None:
        """To the second; one from before does not."""
        site, other = SiteFactory(time_zone="UTC"), SiteFactory(time_zone="UTC")
        complete(site, utc("2026-09-07T02:00"))
        complete(other, utc("2026-09-07T01:59"))
        assert unchecked(utc(AT_TWO)) == {utc("2026-09-07T02:00"): [other]}
        assert unchecked(utc("2026-09-08T02:00")) == {utc("2026-09-08T02:00"): [site, other]}

    def test_the_night_of_two_one_o_clocks(self) -> None:
        """1 November 2026 in Chicago: the second 01:00 starts nothing."""
        site = SiteFactory(time_zone="America/Chicago", nightly_hour=1)
        assert unchecked(utc("2026-11-01T06:00")) == {utc("2026-11-01T06:00"): [site]}
        complete(site, utc("2026-11-01T06:01"))
        for moment in ("2026-11-01T06:30", "2026-11-01T07:00", "2026-11-01T07:30", "2026-11-02T06:59"):
            assert unchecked(utc(moment)) == {}
        assert unchecked(utc("2026-11-02T07:00")) == {utc("2026-11-02T07:00"): [site]}

    def test_a_check_of_later_days_only_does_not(self) -> None:
        """Somebody asked by hand for the days from tomorrow on: today was not looked at."""
        site = SiteFactory(time_zone="UTC")
        complete(site, utc("2026-09-07T03:00"), first_day=utc("2026-09-08T00:00").date())
        assert unchecked(utc(AT_TWO)) == {utc("2026-09-07T02:00"): [site]}

    def test_sites_that_share_a_kitchen_stand_together(self) -> None:
        """What is cooked once is read once."""
        one, two, three, kitchen = (SiteFactory(time_zone="UTC") for _ in range(4))
        for site in (one, three):
            DeliveryFactory(kitchen=kitchen, site=site)
        (sites,) = unchecked(utc(AT_TWO)).values()
        assert sites == [two, one, three, kitchen]

    @pytest.mark.parametrize("count", [3, 60])
    def test_the_queries_do_not_grow_with_the_sites(self, count: int, django_assert_num_queries) -> None:
        """Half of them were checked."""
        for site in SiteFactory.create_batch(count, time_zone="UTC")[::2]:
            complete(site, utc("2026-09-07T03:00"))
        with django_assert_num_queries(3):
            assert sum(map(len, unchecked(utc(AT_TWO)).values())) == count // 2


@pytest.mark.django_db
class TestMissed:
    """What a real check leaves, asked for one site."""

    def test_a_site_whose_night_has_come_again(self, cast: Cast) -> None:
        """Yesterday's check does not do for today."""
        assert missed(cast.ferrowick, datetime.now(UTC))
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        assert not missed(cast.ferrowick, datetime.now(UTC))
        assert missed(cast.tansy_gate, datetime.now(UTC))
        assert missed(cast.ferrowick, datetime.now(UTC) + timedelta(days=1))

    def test_a_check_of_fewer_days_does_not_do(self, cast: Cast, settings) -> None:
        """A look at the next two days leaves the rest of the window unseen."""
        settings.NIGHTLY_WINDOW_DAYS = 2
        check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND)
        settings.NIGHTLY_WINDOW_DAYS = 14
        assert missed(cast.ferrowick, datetime.now(UTC))


@pytest.mark.django_db
def test_a_site_whose_check_failed_rests_an_hour() -> None:
    """One of an hour ago has rested, and a complete one needs no rest."""
    site, rested, well = SiteFactory.create_batch(3)
    now = datetime.now(UTC)
    for each in (site, rested, well):
        Run.objects.create(site=each, trigger="night", state="failed", as_of=now, first_day=now, last_day=now)
    Run.objects.filter(site=well).update(state="complete")
    Run.objects.filter(site=rested).update(started_at=now - timedelta(minutes=61))
    assert failed_lately(now) == {site.pk}


@pytest.mark.django_db
def test_the_old_row_of_each_site_goes_and_others_stay() -> None:
    """Beat once started each site's check by a row of its own."""
    every = IntervalSchedule.objects.create(every=1, period="minutes")
    PeriodicTask.objects.create(name="nightly check of site 7", task=OLD_TASK, args="[7]", interval=every)
    PeriodicTask.objects.create(name="catch up", task="compliance.tasks.catch_up", interval=every)
    assert drop_old_rows() == 1
    assert [row.name for row in PeriodicTask.objects.all()] == ["catch up"]
