"""Beginning a night: each moment once, late ones too, in slices, and again what failed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from compliance.checks.nights import start
from compliance.checks.nights.start import begin, start_by_hand, start_nights
from compliance.models import DeadLetter, Night, NightSlice, Run
from tests.factories import SiteFactory
from tests.nights import complete

pytestmark = pytest.mark.django_db

DUE = datetime(2026, 9, 7, 2, tzinfo=UTC)
NOW = DUE + timedelta(seconds=20)


def closed(night: Night, at: datetime) -> None:
    """Close the night without having checked anything."""
    night.slices.update(state=NightSlice.State.DONE)
    Night.objects.filter(pk=night.pk).update(state=Night.State.PARTIAL, closed_at=at)


def test_a_night_for_each_moment_at_which_sites_were_due() -> None:
    """Chicago's and Kathmandu's are apart, and each says its time zone."""
    chicago = SiteFactory.create_batch(2, time_zone="America/Chicago")
    kathmandu = SiteFactory(time_zone="Asia/Kathmandu")
    first, second = start_nights(datetime(2026, 9, 7, 12, tzinfo=UTC))
    assert (first.due_at, first.zone_hint) == (datetime(2026, 9, 6, 20, 15, tzinfo=UTC), "Asia/Kathmandu")
    assert (second.due_at, second.zone_hint) == (datetime(2026, 9, 7, 7, tzinfo=UTC), "America/Chicago")
    assert [part.sites for part in first.slices.all()] == [[kathmandu.pk]]
    assert [part.sites for part in second.slices.all()] == [[site.pk for site in chicago]]
    assert {first.trigger, second.trigger} == {Run.Trigger.NIGHT}


def test_slices_hold_as_many_sites_as_the_setting_says(settings) -> None:
    """The last one what is left."""
    settings.NIGHT_SLICE_SITES = 3
    sites = [site.pk for site in SiteFactory.create_batch(7)]
    (night,) = start_nights(NOW)
    assert list(night.slices.values_list("number", "sites")) == [(1, sites[:3]), (2, sites[3:6]), (3, sites[6:])]


def test_a_second_beat_starts_nothing() -> None:
    """Neither a moment later nor while the first night is under way, for whatever it was due."""
    SiteFactory()
    (night,) = start_nights(NOW)
    assert start_nights(NOW) == []
    assert start_nights(NOW + timedelta(days=1)) == [], "the night under way will have read what was due since"
    assert list(Night.objects.all()) == [night]


def test_two_beats_at_once_start_one_night(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both have looked and seen nothing before either writes: the second is refused by the database."""
    SiteFactory()
    looked = start._tried(NOW)
    (night,) = start_nights(NOW)
    monkeypatch.setattr(start, "_tried", lambda now: looked)
    assert start_nights(NOW) == []
    assert list(Night.objects.all()) == [night]
    assert NightSlice.objects.count() == 1


def test_the_clock_that_is_put_back_starts_nothing() -> None:
    """1 November 2026 in Chicago, 01:00 comes twice; and once more when the machine's clock jumps back an hour."""
    site = SiteFactory(time_zone="America/Chicago", nightly_hour=1)
    once = datetime(2026, 11, 1, 6, 0, 5, tzinfo=UTC)
    (night,) = start_nights(once)
    complete(site, once)
    closed(night, once)
    for minutes in (30, 60, 90, 120, -60, -5):
        assert start_nights(once + timedelta(minutes=minutes)) == []


def test_the_clock_that_is_put_forward_leaves_no_night_out() -> None:
    """14 March 2027 in Chicago has no 02:00: at 03:00 the night is begun, once."""
    SiteFactory(time_zone="America/Chicago")
    assert [night.due_at.hour for night in start_nights(datetime(2027, 3, 14, 8, 0, 1, tzinfo=UTC))] == [8]
    assert start_nights(datetime(2027, 3, 14, 9, 0, 1, tzinfo=UTC)) == []


def test_a_machine_that_was_off_catches_up_once() -> None:
    """Three nights were missed; the last one reads all there is to read."""
    site = SiteFactory()
    complete(site, DUE - timedelta(days=3))
    (night,) = start_nights(NOW)
    assert night.due_at == DUE


def test_what_was_checked_since_is_left_out() -> None:
    """By whatever started the check."""
    done, left = SiteFactory.create_batch(2)
    complete(done, DUE + timedelta(seconds=1), trigger=Run.Trigger.HAND)
    (night,) = start_nights(NOW)
    assert [part.sites for part in night.slices.all()] == [[left.pk]]


class TestAgain:
    """A site that could not be checked is tried again after an hour, then after two, and so on."""

    def test_each_turn_rests_twice_as_long(self) -> None:
        """The turns of one moment are told apart, so that each can be started once only."""
        site = SiteFactory()
        at = NOW
        for turn, hours in enumerate((1, 2, 4), start=1):
            (night,) = start_nights(at)
            assert (night.due_at, night.turn) == (DUE, turn)
            assert [part.sites for part in night.slices.all()] == [[site.pk]]
            closed(night, at)
            assert start_nights(at + timedelta(hours=hours, seconds=-1)) == []
            at += timedelta(hours=hours)

    def test_a_new_site_need_not_rest(self) -> None:
        """It is not the one that failed."""
        SiteFactory()
        (night,) = start_nights(NOW)
        closed(night, NOW)
        new = SiteFactory()
        (second,) = start_nights(NOW + timedelta(minutes=1))
        assert (second.due_at, second.turn, second.slices.get().sites) == (DUE, 2, [new.pk])

    def test_the_next_night_comes_all_the_same(self) -> None:
        """However long the rest of the last one was."""
        SiteFactory()
        (night,) = start_nights(NOW)
        closed(night, NOW + timedelta(hours=23, minutes=59))
        assert [each.due_at for each in start_nights(NOW + timedelta(days=1))] == [DUE + timedelta(days=1)]

    def test_a_site_that_took_its_worker_down_stands_alone(self) -> None:
        """Also in the next night, until its letter is settled; one whose check only failed does not."""
        killer, failing, other = SiteFactory.create_batch(3)
        DeadLetter.objects.create(task="slice", site=killer, reason=DeadLetter.Reason.LOST)
        DeadLetter.objects.create(task="slice", site=failing, reason=DeadLetter.Reason.ERROR)
        (night,) = start_nights(NOW)
        assert [part.sites for part in night.slices.all()] == [[failing.pk, other.pk], [killer.pk]]


@pytest.mark.parametrize("count", [3, 60])
def test_the_queries_do_not_grow_with_the_sites(count: int, django_assert_num_queries) -> None:
    """Four to look, and to write: where the letters are, a savepoint around the night and its slices."""
    SiteFactory.create_batch(count)
    with django_assert_num_queries(9):
        start_nights(NOW)
    with django_assert_num_queries(4):
        start_nights(NOW)


def test_by_hand_from_any_day() -> None:
    """Also while a night is under way: the database keeps two from checking one site at once."""
    sites = SiteFactory.create_batch(2)
    start_nights(NOW)
    night = start_by_hand(sites, NOW.date())
    assert night is not None
    assert (night.trigger, night.first_day, night.slices.count()) == (Run.Trigger.HAND, NOW.date(), 1)


def test_a_night_of_no_sites_is_none() -> None:
    """There is nothing to close."""
    assert begin(due_at=DUE, trigger=Run.Trigger.NIGHT, sites=[]) is None
    assert not Night.objects.exists()
