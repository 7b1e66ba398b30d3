"""What goes into the queue, and what is found again when a worker, a message or a closing got lost."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from compliance.checks.nights.queue import take
from compliance.checks.nights.start import begin
from compliance.checks.nights.sweep import CUT_OFF, sweep
from compliance.checks.nights.tries import MOST_ATTEMPTS
from compliance.models import DeadLetter, Night, NightSlice, Run
from menus.models import Site
from tests.factories import SiteFactory
from tests.nights import complete

pytestmark = pytest.mark.django_db

State = NightSlice.State


def night(*sites: Site, hours: int = 0) -> Night:
    """A night that was due so many hours ago, with a slice for each site."""
    made = begin(due_at=timezone.now() - timedelta(hours=hours), trigger=Run.Trigger.NIGHT, sites=sites)
    assert made is not None
    return made


@pytest.fixture(autouse=True)
def _one_site_a_slice(settings) -> None:
    settings.NIGHT_SLICE_SITES = 1


def numbers(pks: list[int]) -> list[int]:
    """The numbers of these slices, in their order."""
    return [NightSlice.objects.get(pk=pk).number for pk in pks]


def hold(part: NightSlice, **changed: object) -> NightSlice:
    """Have somebody work on the slice whose lease ran out a second ago."""
    now = timezone.now()
    held = {"state": State.RUNNING, "claim": uuid4(), "attempts": 1, "queued_at": now, "started_at": now}
    NightSlice.objects.filter(pk=part.pk).update(**held | {"lease_until": now - timedelta(seconds=1)} | changed)
    part.refresh_from_db()
    return part


class TestQueue:
    """A few slices at a time."""

    def test_the_rest_goes_in_as_slices_end(self, settings) -> None:
        """What is queued and what runs take up places; what has ended makes room."""
        settings.NIGHT_SLICES_AT_ONCE = 2
        ours = night(*SiteFactory.create_batch(5))
        now = timezone.now()
        first = take(now)
        assert numbers(first) == [1, 2]
        assert take(now) == []
        NightSlice.objects.filter(pk=first[0]).update(state=State.RUNNING)
        assert take(now) == []
        NightSlice.objects.filter(pk=first[0]).update(state=State.DONE)
        assert numbers(take(now)) == [3]
        NightSlice.objects.filter(queued_at__isnull=False).update(state=State.FAILED)
        assert numbers(take(now)) == [4, 5]
        assert ours.slices.filter(queued_at=None).count() == 0

    def test_the_earlier_night_first_and_all_together_no_more(self, settings) -> None:
        """Two nights share the places."""
        settings.NIGHT_SLICES_AT_ONCE = 3
        late, early = night(*SiteFactory.create_batch(2)), night(*SiteFactory.create_batch(2), hours=3)
        queued = NightSlice.objects.in_bulk(take(timezone.now()))
        assert sorted((each.night_id, each.number) for each in queued.values()) == sorted(
            [(early.pk, 1), (early.pk, 2), (late.pk, 1)]
        )

    def test_what_rests_lets_others_pass(self, settings) -> None:
        """And goes in when its rest is over."""
        settings.NIGHT_SLICES_AT_ONCE = 1
        ours = night(*SiteFactory.create_batch(2))
        now = timezone.now()
        ours.slices.filter(number=1).update(not_before=now + timedelta(minutes=1))
        queued = take(now)
        assert numbers(queued) == [2]
        NightSlice.objects.filter(pk__in=queued).update(state=State.DONE)
        assert take(now) == []
        assert numbers(take(now + timedelta(minutes=1))) == [1]

    def test_a_night_that_was_closed_asks_for_nothing(self) -> None:
        """Somebody stopped it."""
        night(*SiteFactory.create_batch(2))
        Night.objects.update(state=Night.State.PARTIAL)
        assert take(timezone.now()) == []


class TestLost:
    """A worker that went away, with whatever it was at."""

    def test_its_slice_is_given_back_and_its_checks_are_given_up(self) -> None:
        """Else its sites would count as being checked for an hour. Checks of others are left alone."""
        site, other = SiteFactory.create_batch(2)
        part = hold(night(site).slices.get())
        today = timezone.localdate()
        said = {"as_of": timezone.now(), "first_day": today, "last_day": today}
        cut_off = Run.objects.create(site=site, trigger=Run.Trigger.NIGHT, **said)
        elsewhere = Run.objects.create(site=other, trigger=Run.Trigger.NIGHT, **said)

        assert sweep(timezone.now()) == []

        part.refresh_from_db()
        assert (part.state, part.claim, part.queued_at, part.error) == (State.WAITING, None, None, CUT_OFF)
        cut_off.refresh_from_db()
        assert (cut_off.state, cut_off.error) == (Run.State.FAILED, CUT_OFF)
        elsewhere.refresh_from_db()
        assert elsewhere.state == Run.State.RUNNING

    def test_a_check_after_a_change_is_not_its_own(self) -> None:
        """It belongs to somebody who is still there."""
        site = SiteFactory()
        hold(night(site).slices.get())
        today = timezone.localdate()
        run = Run.objects.create(site=site, trigger="change", as_of=timezone.now(), first_day=today, last_day=today)
        sweep(timezone.now())
        run.refresh_from_db()
        assert run.state == Run.State.RUNNING

    def test_one_who_renews_keeps_it(self) -> None:
        """However long it takes."""
        now = timezone.now()
        part = hold(night(SiteFactory()).slices.get(), lease_until=now + timedelta(seconds=1))
        sweep(now)
        part.refresh_from_db()
        assert part.state == State.RUNNING

    @pytest.mark.parametrize(("ago", "reason"), [(10, "lost"), (2000, "slow")])
    def test_after_so_many_times_it_is_given_up(self, ago: int, reason: str) -> None:
        """With a letter for the site, which says whether it took too long; the night can be closed."""
        site = SiteFactory()
        now = timezone.now()
        ours = night(site)
        part = hold(ours.slices.get(), attempts=MOST_ATTEMPTS, started_at=now - timedelta(seconds=ago))
        assert sweep(now) == [ours.pk]
        part.refresh_from_db()
        assert (part.state, part.counts) == (State.FAILED, {"checked": 0, "busy": 0, "failed": 1})
        letter = DeadLetter.objects.get()
        assert (letter.site, letter.slice, letter.reason, letter.attempts) == (site, part, reason, MOST_ATTEMPTS)


def test_a_message_not_heard_of_is_sent_again(settings) -> None:
    """The broker came back empty. Not at once: it may only be waiting behind others."""
    settings.NIGHT_LEASE_SECONDS = 60
    night(SiteFactory())
    now = timezone.now()
    queued = take(now)
    sweep(now + timedelta(seconds=59))
    assert take(now + timedelta(seconds=59)) == []
    sweep(now + timedelta(seconds=61))
    assert take(now + timedelta(seconds=61)) == queued


def test_nights_whose_closing_got_lost_are_told() -> None:
    """Those under way, all of whose slices have ended."""
    ended, open_, closed = (night(SiteFactory(), hours=hours) for hours in range(3))
    NightSlice.objects.exclude(night=open_).update(state=State.DONE)
    Night.objects.filter(pk=closed.pk).update(state=Night.State.COMPLETE)
    assert sweep(timezone.now()) == [ended.pk]


def test_letters_that_a_later_check_made_good_are_settled() -> None:
    """Whatever started that check; not by one from before."""
    mended, broken = SiteFactory.create_batch(2)
    now = timezone.now()
    complete(broken, now - timedelta(minutes=2))
    for site in (mended, broken):
        DeadLetter.objects.create(task="slice", site=site, reason="error", failed_at=now - timedelta(minutes=1))
    complete(mended, now, trigger=Run.Trigger.CHANGE)
    sweep(now)
    assert list(DeadLetter.objects.unsettled().values_list("site", flat=True)) == [broken.pk]
    settled = DeadLetter.objects.get(site=mended)
    assert (settled.settled_at, settled.settled_by, settled.note) == (
        now,
        None,
        "A later check of the site went through.",
    )
