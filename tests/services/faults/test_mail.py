"""The mail server is away for the whole night, and comes back."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import pytest

from tests.services.faults.clock import SETTINGS, Clock
from tests.services.faults.conftest import Make
from tests.services.faults.crew import crew
from tests.services.faults.machines import Valkey
from tests.services.faults.postbox import postbox
from tests.services.faults.watch import Watch, queue
from tests.services.faults.whole import whole
from tests.services.faults.world import SITES
from tests.services.servers import wait_for

pytestmark = pytest.mark.services

WAITING = "SELECT count(*) FROM compliance_outgoingmail WHERE sent_at IS NULL AND error <> ''"
RECEIVERS = {"nurse@example.org", "head@example.org"}


def test_a_mail_server_that_is_down(make: Make, watch: Watch, broker: Valkey) -> None:
    """The night is complete all the same; the mails wait where one can see them, and go once, one to a person."""
    with postbox() as box:
        service = make(**box.settings, DJANGO_SETTINGS_MODULE=SETTINGS)
        clock = Clock(service.data)
        with crew(service) as staff, queue(broker.address) as messages:
            staff.worker()
            messages.send("start_nights")
            watch.all_complete()
            wait_for(lambda: watch.one(WAITING), len(RECEIVERS))
            assert watch.one("SELECT count(*) FROM compliance_night WHERE state = 'complete'") == 1

            box.refuses = False
            clock.move(timedelta(minutes=2))
            messages.send("send_mail")
            messages.send("send_mail")
            wait_for(lambda: len(box.mails), len(RECEIVERS))
            messages.all_done()
        assert Counter(to for addresses, _ in box.mails for to in addresses) == dict.fromkeys(RECEIVERS, 1)
        for number in range(SITES):
            assert all(f"Child {number}" not in text for _, text in box.mails)
        whole(service)
