"""Clocks that jump: both daylight changes, and a machine whose clock somebody sets an hour forward or back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import pytest

from tests.services.faults.clock import SETTINGS, Clock
from tests.services.faults.conftest import Make
from tests.services.faults.crew import Crew, crew
from tests.services.faults.machines import Valkey
from tests.services.faults.pause import gate
from tests.services.faults.watch import Queue, Watch, queue
from tests.services.faults.whole import whole
from tests.services.servers import Service

pytestmark = pytest.mark.services

CHICAGO = "UPDATE menus_site SET time_zone = 'America/Chicago', nightly_hour = %s"
NIGHTS = "SELECT count(*) FROM compliance_night WHERE due_at BETWEEN %s AND %s"
SPRING, AUTUMN = (2, datetime(2027, 3, 14, 8, tzinfo=UTC)), (1, datetime(2027, 11, 7, 6, tzinfo=UTC))
"""The hour of the night on clocks in Chicago, and when it comes: two o'clock is skipped, one o'clock comes twice.

IANA time zone database, America/Chicago (read): on 2027-03-14 clocks go from 02:00 CST to 03:00 CDT at 08:00 UTC, on
2027-11-07 from 02:00 CDT to 01:00 CST at 07:00 UTC.
"""


@dataclass(frozen=True)
class Stage:
    """A service under a clock of the test's own, and who works for it."""

    service: Service
    clock: Clock
    staff: Crew
    messages: Queue


@contextmanager
def staged(make: Make, broker: Valkey, at: datetime) -> Iterator[Stage]:
    """The service at that moment."""
    service = make(DJANGO_SETTINGS_MODULE=SETTINGS)
    clock = Clock(service.data)
    clock.set(at)
    with crew(service) as staff, queue(broker.address) as messages:
        yield Stage(service, clock, staff, messages)


@pytest.mark.parametrize(("hour", "due"), [SPRING, AUTUMN], ids=["spring", "autumn"])
def test_a_daylight_change(hour: int, due: datetime, make: Make, watch: Watch, broker: Valkey) -> None:
    """The night whose hour is skipped, or comes twice, is started once."""
    watch.do(CHICAGO, hour)
    around = due - timedelta(hours=6), due + timedelta(hours=18)
    with staged(make, broker, due - timedelta(minutes=10)) as stage:
        stage.staff.worker()
        stage.messages.send("start_nights")
        watch.all_complete()
        assert watch.one(NIGHTS, *around) == 0, "what was started is the night before, which was missed"
        for minutes in (1, 30, 61, 90, 121, 180):
            stage.clock.set(due + timedelta(minutes=minutes))
            stage.messages.send("start_nights")
            stage.messages.all_done()
            watch.all_complete()
            assert watch.one(NIGHTS, *around) == 1
        whole(stage.service)


@pytest.mark.parametrize("jump", [timedelta(hours=1, minutes=1), timedelta(hours=-1)], ids=["forward", "back"])
def test_a_clock_set_by_an_hour(jump: timedelta, make: Make, watch: Watch, broker: Valkey, database: str) -> None:
    """In the middle of a slice, whose lease seems to be long over or far off: no site is checked twice or never."""
    at = datetime(2027, 5, 12, 10, 30, tzinfo=UTC)
    with staged(make, broker, at) as stage:
        with gate(database) as storing:
            stage.staff.worker("one")
            stage.staff.worker("two")
            stage.messages.send("start_nights")
            storing.reached()
            watch.slices(2, "running")
            beat = stage.staff.beat()  # now, or one of the two might be held in what else it has done first
            stage.clock.set(at + jump)
            storing.open()
        watch.all_complete()
        beat.kill()
        stage.messages.send("start_nights")
        stage.messages.send("sweep_nights")
        stage.messages.all_done()
        watch.all_complete()
        assert watch.one("SELECT count(*) FROM compliance_night") == 1
        whole(stage.service)
