"""Workers that die or are asked to stop in the middle of a slice."""

from __future__ import annotations

import pytest

from tests.services.faults.crew import Crew, Process
from tests.services.faults.pause import gate
from tests.services.faults.watch import Watch
from tests.services.faults.whole import whole
from tests.services.servers import Service

pytestmark = pytest.mark.services


@pytest.mark.parametrize("kill", [Process.kill, Process.kill_children], ids=["the machine", "its child"])
def test_a_worker_killed_mid_slice(kill, service: Service, staff: Crew, watch: Watch, database: str) -> None:
    """Its machine goes dark, or the kernel takes its child for the memory: somebody else does the slice again."""
    with gate(database) as storing:
        worker = staff.worker()
        staff.beat()
        storing.reached()
        kill(worker)
    if kill is Process.kill:
        staff.worker("second")
    watch.all_complete()
    whole(service)


def test_a_worker_asked_to_stop(service: Service, staff: Crew, watch: Watch, database: str) -> None:
    """It finishes the slice it is at, takes no other and leaves; the rest waits for the next worker."""
    with gate(database) as storing:
        worker = staff.worker()
        staff.beat()
        storing.reached()
        worker.ask_to_stop()
        storing.open()
        assert worker.ended() == 0, worker.log
    watch.slices(0, "running", seconds=0)
    watch.slices(1, "done", seconds=0)
    staff.worker("second")
    watch.all_complete()
    whole(service)
