"""A night through the doors of the queue: in which order, how many at a time, and when the broker is away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import partial

import pytest
from celery import Task
from django.utils import timezone
from kombu.exceptions import OperationalError as BrokerAway

from compliance import tasks
from compliance.checks import digest
from compliance.models import Night, NightSlice
from compliance.tasks import close_night, run_slice, start_nights, sweep_nights
from tests.compliance.checks.nights.conftest import Checks, checks
from tests.factories import SiteFactory

pytestmark = pytest.mark.django_db

__all__ = ["checks"]


@dataclass
class Queue:
    """Messages that wait, in place of the broker."""

    waiting: list[tuple[Task, int]] = field(default_factory=list)
    later: list[tuple[Task, int, float]] = field(default_factory=list)
    is_away: bool = False
    most: int = 0

    def put(self, task: Task, args: tuple[int], countdown: float | None = None) -> None:
        """Take a message, unless the broker is away."""
        if self.is_away:
            raise BrokerAway
        (pk,) = args
        if countdown:
            self.later.append((task, pk, countdown))
            return
        self.waiting.append((task, pk))
        self.most = max(self.most, sum(each is run_slice for each, _ in self.waiting))

    def deliver(self, times: int = 1) -> Iterator[tuple[str, int]]:
        """Deliver until nothing waits, each message so many times; yield what was delivered."""
        while self.waiting:
            task, pk = self.waiting.pop(0)
            for _ in range(times):
                task(pk)
            yield task.name.rpartition(".")[2], pk


@pytest.fixture
def queue(monkeypatch: pytest.MonkeyPatch, settings, checks: Checks) -> Queue:
    """An empty queue; seven sites are due, two a slice, two slices at a time; nobody is mailed, nothing pruned."""
    settings.NIGHT_SLICE_SITES = settings.NIGHT_SLICES_AT_ONCE = 2
    made = Queue()
    for task in (run_slice, close_night):
        monkeypatch.setattr(task, "apply_async", partial(made.put, task))
    monkeypatch.setattr(digest, "send_for", lambda runs: 0)
    monkeypatch.setattr(tasks, "prune", lambda now: None)
    SiteFactory.create_batch(7)
    return made


def whole(checks: Checks) -> None:
    """The night is complete, and each site was checked once."""
    night = Night.objects.get()
    assert (night.state, night.counts) == (Night.State.COMPLETE, {"checked": 7, "busy": 0, "failed": 0})
    assert sorted(site for part in checks.asked for site in part) == sorted(
        site for part in night.slices.all() for site in part.sites
    )


def test_a_whole_night(queue: Queue, checks: Checks) -> None:
    """Two slices are put in at first; each that ends brings the next, and the last one the closing."""
    start_nights()
    assert len(queue.waiting) == 2
    parts = list(NightSlice.objects.values_list("pk", flat=True))
    assert list(queue.deliver()) == [("run_slice", pk) for pk in parts] + [("close_night", Night.objects.get().pk)]
    assert queue.most == 2
    whole(checks)


def test_every_message_delivered_three_times(queue: Queue, checks: Checks) -> None:
    """Nothing is done twice, and no more goes into the queue."""
    start_nights()
    start_nights()
    list(queue.deliver(times=3))
    assert queue.most == 2
    whole(checks)


def test_a_broker_that_is_away_and_comes_back(queue: Queue, checks: Checks, settings) -> None:
    """Also one that lost what it held, and one that goes away before the closing."""
    settings.NIGHT_LEASE_SECONDS = 0  # nothing is waited for
    queue.is_away = True
    start_nights()
    assert queue.waiting == []
    queue.is_away = False
    sweep_nights()
    assert len(queue.waiting) == 2
    queue.waiting.clear()
    sweep_nights()
    for _ in queue.deliver():
        queue.is_away = not NightSlice.objects.open().exclude(state=NightSlice.State.RUNNING).exists()
    assert Night.objects.get().state == Night.State.COMPLETE
    whole(checks)


def test_a_closing_that_got_lost(queue: Queue, checks: Checks) -> None:
    """The sweep finds that all slices have ended."""
    start_nights()
    delivering = queue.deliver()
    for _ in range(4):
        next(delivering)
    queue.waiting.clear()
    assert Night.objects.get().state == Night.State.RUNNING
    sweep_nights()
    list(queue.deliver())
    whole(checks)


def test_a_site_that_is_busy_holds_up_nobody(queue: Queue, checks: Checks) -> None:
    """Its slice rests, the others go on; after the rest it is done."""
    start_nights()
    busy = NightSlice.objects.order_by("number").first()
    assert busy is not None
    checks.busy = {busy.sites[0]}
    list(queue.deliver())
    assert {part.state for part in NightSlice.objects.exclude(pk=busy.pk)} == {NightSlice.State.DONE}
    assert Night.objects.get().state == Night.State.RUNNING
    ((task, pk, seconds),) = queue.later
    assert (task, pk) == (run_slice, busy.pk)
    assert 0 < seconds <= 2
    sweep_nights()
    assert queue.waiting == []

    checks.busy = set()
    NightSlice.objects.update(not_before=timezone.now())
    queue.put(task, (pk,))
    list(queue.deliver())
    assert Night.objects.get().counts == {"checked": 7, "busy": 0, "failed": 0}
