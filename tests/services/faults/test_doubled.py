"""The same message twice, and two beats."""

from __future__ import annotations

import pytest

from tests.services.faults.crew import Crew
from tests.services.faults.machines import Valkey
from tests.services.faults.pause import gate
from tests.services.faults.watch import Watch, queue
from tests.services.faults.whole import whole
from tests.services.servers import Service

pytestmark = pytest.mark.services

KEPT = ("run", "checkedday", "serveddish", "prepareddish", "dishverdicts", "referral", "outgoingmail")


def test_every_message_delivered_three_times(
    service: Service, staff: Crew, watch: Watch, broker: Valkey, database: str
) -> None:
    """While its slice is under way, while it waits, and again when all is over: it changes nothing."""
    with queue(broker.address) as messages:
        with gate(database) as storing:
            staff.worker("one")
            staff.worker("two")
            messages.send("start_nights")
            storing.reached()
            watch.slices(2, "running")
            slices = watch.column("SELECT id FROM compliance_nightslice ORDER BY id")
            for number in slices * 2:
                messages.send("run_slice", number)
        watch.all_complete()
        messages.all_done()
        before = watch.counts(KEPT)
        for number in slices:
            messages.send("run_slice", number)
        messages.send("start_nights")
        messages.all_done()
    assert watch.counts(KEPT) == before
    whole(service)


def test_two_beats(service: Service, staff: Crew, watch: Watch) -> None:
    """Both find the night due at the same time: one night is started."""
    staff.worker(concurrency=2)
    staff.beat("one")
    staff.beat("two")
    watch.all_complete()
    assert watch.one("SELECT count(*) FROM compliance_night") == 1
    whole(service)
