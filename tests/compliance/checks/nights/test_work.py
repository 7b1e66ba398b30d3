"""One slice: taken by one, ended or given back, and what becomes of sites that cannot be checked."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone

from compliance.checks.nights import work as module
from compliance.checks.nights.start import begin, start_by_hand
from compliance.checks.nights.tries import FIRST_PAUSE, MOST_ATTEMPTS, pause
from compliance.checks.nights.work import give_back, work
from compliance.models import DeadLetter, Night, NightSlice, Run
from menus.models import Site
from tests.compliance.checks.nights.conftest import Checks
from tests.factories import SiteFactory
from tests.nights import complete

pytestmark = pytest.mark.django_db

State = NightSlice.State


@pytest.fixture
def sites() -> list[Site]:
    """Three sites."""
    made: list[Site] = SiteFactory.create_batch(3)
    return made


@pytest.fixture
def part(sites: list[Site]) -> NightSlice:
    """The only slice of a night that was due a minute ago."""
    night = begin(due_at=timezone.now() - timedelta(minutes=1), trigger=Run.Trigger.NIGHT, sites=sites)
    assert night is not None
    return night.slices.get()


def rest_over(part: NightSlice) -> None:
    """Let its rest be over."""
    NightSlice.objects.filter(pk=part.pk).update(not_before=timezone.now())


def state_after_work(part: NightSlice) -> str:
    """Work on it, and return what state it is in then."""
    worked = work(part.pk)
    assert worked == part
    return worked.state


def letters() -> list[tuple[int | None, str, str, int]]:
    """Site, reason, error and attempts of each letter."""
    return list(DeadLetter.objects.order_by("site").values_list("site", "reason", "error", "attempts"))


def test_its_sites_are_checked_together(part: NightSlice, sites: list[Site], checks: Checks) -> None:
    """And the slice says so."""
    done = work(part.pk)
    assert done == part
    part.refresh_from_db()
    assert (part.state, part.counts, part.attempts) == (State.DONE, {"checked": 3, "busy": 0, "failed": 0}, 1)
    assert part.finished_at is not None
    assert (part.claim, part.lease_until) == (None, None)
    assert checks.asked == [[site.pk for site in sites]]


def test_a_message_that_comes_twice_does_nothing(part: NightSlice, checks: Checks) -> None:
    """Neither after the slice has ended nor while somebody works on it."""
    checks.before = lambda: second.append(work(part.pk))
    second: list[NightSlice | None] = []
    assert work(part.pk) == part
    assert second == [None]
    assert work(part.pk) is None
    assert len(checks.asked) == 1


def test_a_slice_that_rests_is_left_alone(part: NightSlice, checks: Checks) -> None:
    """A message from before may come meanwhile."""
    NightSlice.objects.update(not_before=timezone.now() + timedelta(minutes=1))
    assert work(part.pk) is None
    assert checks.asked == []


def test_sites_checked_since_the_night_was_due_are_left_out(
    part: NightSlice, sites: list[Site], checks: Checks
) -> None:
    """Whoever checked them. Not those that were checked before it, or of which only later days were."""
    now = timezone.now()
    complete(sites[0], now - timedelta(seconds=30), trigger=Run.Trigger.CHANGE)
    complete(sites[1], now - timedelta(minutes=2))
    complete(sites[2], now - timedelta(seconds=30), first_day=now.date() + timedelta(days=1))
    work(part.pk)
    assert checks.asked == [[sites[1].pk, sites[2].pk]]


def test_a_site_that_is_gone_is_left_out(part: NightSlice, sites: list[Site], checks: Checks) -> None:
    """A slice may outlive its sites."""
    NightSlice.objects.update(sites=[sites[0].pk, 404])
    work(part.pk)
    assert checks.asked == [[sites[0].pk]]


def test_a_site_that_fails_becomes_a_letter_and_the_others_go_on(
    part: NightSlice, sites: list[Site], checks: Checks
) -> None:
    """The slice has come to its end."""
    checks.poison = {sites[1].pk}
    assert work(part.pk) == part
    part.refresh_from_db()
    assert (part.state, part.counts) == (State.DONE, {"checked": 2, "busy": 0, "failed": 1})
    assert letters() == [(sites[1].pk, "error", "ValueError: a loop", 1)]


class TestBusy:
    """Sites that somebody else is checking."""

    def test_they_are_tried_again_by_themselves(self, part: NightSlice, sites: list[Site], checks: Checks) -> None:
        """After a rest; what was checked is not checked again."""
        checks.busy = {sites[2].pk}
        assert work(part.pk) == part
        part.refresh_from_db()
        assert part.state == State.WAITING
        assert part.not_before is not None
        assert part.not_before > timezone.now()
        assert "is being checked at this moment" in part.error

        rest_over(part)
        checks.busy = set()
        assert work(part.pk) == part
        assert checks.asked[1:] == [[sites[2].pk]]
        part.refresh_from_db()
        assert (part.state, part.counts, part.error) == (State.DONE, {"checked": 3, "busy": 0, "failed": 0}, "")

    def test_they_are_given_up_after_so_many_times(self, part: NightSlice, sites: list[Site], checks: Checks) -> None:
        """With a letter that says so."""
        checks.busy = {sites[0].pk}
        for _ in range(MOST_ATTEMPTS - 1):
            assert state_after_work(part) == State.WAITING
            rest_over(part)
        assert work(part.pk) == part
        part.refresh_from_db()
        assert (part.state, part.counts) == (State.DONE, {"checked": 2, "busy": 1, "failed": 0})
        assert letters() == [(sites[0].pk, "busy", "", MOST_ATTEMPTS)]

    def test_whoever_asked_by_hand_is_told_at_once(self, sites: list[Site], checks: Checks) -> None:
        """And nobody has to settle a letter about it."""
        night = start_by_hand(sites)
        assert night is not None
        checks.busy = {sites[0].pk}
        done = work(night.slices.get().pk)
        assert done is not None
        assert done.counts == {"checked": 2, "busy": 1, "failed": 0}
        assert letters() == []


def test_a_slice_does_not_fail_without_its_letter(
    part: NightSlice, checks: Checks, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both are written or neither: then it is found by its lease, and given up anew."""

    def gone(*_: object, **__: object) -> None:
        raise OperationalError("server closed the connection unexpectedly")

    NightSlice.objects.filter(pk=part.pk).update(state=State.RUNNING, attempts=MOST_ATTEMPTS)
    part.refresh_from_db()
    monkeypatch.setattr(module.letters, "bury", gone)
    with pytest.raises(OperationalError):
        give_back(part, DeadLetter.Reason.AWAY, "database away")
    part.refresh_from_db()
    assert part.state == State.RUNNING


class TestTransient:
    """The database went away, or something that no site can be blamed for."""

    @pytest.mark.parametrize(
        ("error", "reason"), [(OperationalError("no space left"), "away"), (RuntimeError("odd"), "error")]
    )
    def test_it_is_given_back_and_given_up_in_the_end(
        self, error: Exception, reason: str, part: NightSlice, sites: list[Site], checks: Checks
    ) -> None:
        """Nobody is told that a site is poison; in the end each that is left has its letter."""

        def fail() -> None:
            raise error

        complete(sites[0], timezone.now())
        checks.before = fail
        for _ in range(MOST_ATTEMPTS - 1):
            assert state_after_work(part) == State.WAITING
            assert letters() == []
            rest_over(part)
        assert work(part.pk) == part
        part.refresh_from_db()
        assert (part.state, part.counts) == (State.FAILED, {"checked": 1, "busy": 0, "failed": 2})
        said = f"{type(error).__name__}: {error}"
        assert part.error == said
        assert letters() == [(site.pk, reason, said, MOST_ATTEMPTS) for site in sites[1:]]

    def test_each_rest_is_longer_and_by_chance(self) -> None:
        """Between half and whole, so many times as long each time, up to ten minutes."""
        for times, longest in ((2, (2, 4, 8, 16, 32)), (4, (2, 8, 32, 128, 512, 600, 600))):
            for attempts, most in enumerate(longest, start=1):
                rests = [pause(attempts, FIRST_PAUSE, times).total_seconds() for _ in range(50)]
                assert most / 2 <= min(rests) < max(rests) <= most


@pytest.mark.parametrize("stop", [KeyboardInterrupt, SystemExit])
def test_a_worker_told_to_leave_at_once_hands_over(stop: type[BaseException], part: NightSlice, checks: Checks) -> None:
    """That is no attempt; the next one may begin without a rest."""

    def leave() -> None:
        raise stop

    checks.before = leave
    with pytest.raises(stop):
        work(part.pk)
    part.refresh_from_db()
    assert (part.state, part.attempts, part.claim, part.not_before) == (State.WAITING, 0, None, None)


def test_what_was_given_to_another_is_not_ended_by_the_first(part: NightSlice, checks: Checks) -> None:
    """Its lease ran out, somebody else took it: only that one's word counts."""

    def taken() -> None:
        NightSlice.objects.update(claim=None, state=State.WAITING)
        checks.after = lambda: None
        assert work(part.pk) == part

    checks.after = taken
    assert work(part.pk) is None
    part.refresh_from_db()
    assert (part.state, part.attempts) == (State.DONE, 2)
    assert give_back(part, DeadLetter.Reason.LOST, "") is None
    part.refresh_from_db()
    assert part.state == State.DONE


def test_it_runs_with_a_lease(part: NightSlice, checks: Checks, settings) -> None:
    """As long as the setting says, from when it was taken."""
    settings.NIGHT_LEASE_SECONDS = 77
    seen: list[NightSlice] = []
    checks.before = lambda: seen.append(NightSlice.objects.get())
    work(part.pk)
    (running,) = seen
    assert running.state == State.RUNNING
    assert running.started_at is not None
    assert running.lease_until == running.started_at + timedelta(seconds=77)
    assert module._renew(running) is False, "nobody renews what has ended"
    assert Night.objects.get().state == Night.State.RUNNING
