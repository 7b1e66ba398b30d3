"""The broker and the database go away while a slice is under way, and come back."""

from __future__ import annotations

import pytest

from tests.services.faults.crew import Crew
from tests.services.faults.machines import Postgres, Valkey
from tests.services.faults.pause import gate
from tests.services.faults.watch import Watch
from tests.services.faults.whole import whole
from tests.services.servers import Service

pytestmark = pytest.mark.services


def test_valkey_killed_and_back_empty(
    service: Service, staff: Crew, watch: Watch, broker: Valkey, database: str
) -> None:
    """Every message is lost, also that of the slice under way; what was to be done stands in the database."""
    with gate(database) as storing:
        staff.worker()
        staff.beat()
        storing.reached()
        broker.kill()
        storing.open()
        watch.slices(1, "done")
    broker.start()
    watch.all_complete()
    whole(service)


def test_postgresql_restarted_mid_run(
    service: Service, staff: Crew, watch: Watch, machine: Postgres, database: str
) -> None:
    """The slice under way is undone by the crash, and done again once the database is back."""
    with gate(database) as storing:
        staff.worker()
        staff.beat()
        storing.reached()
        machine.crash()
    machine.start()
    watch.all_complete()
    whole(service)
