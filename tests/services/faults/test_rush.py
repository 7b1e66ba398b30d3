"""Half past seven comes while the night is still at it: fifty teachers check treats at once."""

from __future__ import annotations

import socket
from concurrent.futures import ThreadPoolExecutor

import pytest

from compliance.benchmarks.browser import Browser
from tests.factories import PASSWORD
from tests.services.faults.crew import Crew
from tests.services.faults.pause import gate
from tests.services.faults.watch import Watch
from tests.services.faults.whole import whole
from tests.services.faults.world import TEACHER, TEACHERS
from tests.services.servers import Service, wait_for

pytestmark = pytest.mark.services

CHECKS = "SELECT count(*) FROM compliance_treatcheck"
ENTRIES = "SELECT count(*) FROM roster_action WHERE subject LIKE 'treat check %%'"
TREAT = {"when": "now", "text": "Sugar, wheat flour, butter (milk), soy lecithin.", "name": "Cookies", "by": "label"}


def test_fifty_teachers_check_treats(service: Service, staff: Crew, watch: Watch, database: str) -> None:
    """Everybody is answered, each answer is kept once and on record, and the night comes to its end beside it."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"http://127.0.0.1:{port}"
    staff.pages(port)
    wait_for(lambda: _listens(port), True)
    with gate(database) as storing, ThreadPoolExecutor(TEACHERS) as classes:
        staff.worker(concurrency=2)
        staff.beat()
        storing.reached()
        assert watch.one("SELECT state FROM compliance_night") == "running"
        with ThreadPoolExecutor(4) as door:  # checking a password is slow on purpose
            signed_in = list(door.map(lambda number: _sign_in(address, number), range(TEACHERS)))
        storing.open()
        list(classes.map(lambda who: who[0].send(f"{address}/treat/", TREAT, who[1]), signed_in))
    watch.all_complete()
    assert watch.one(CHECKS) == TEACHERS
    assert watch.one(ENTRIES) == TEACHERS
    whole(service)


def _sign_in(address: str, number: int) -> tuple[Browser, str]:
    """Return a teacher's browser, and what proves that the treat form was opened in it."""
    browser = Browser()
    browser.ask(f"{address}/sign-in/", {"username": TEACHER.format(number), "password": PASSWORD})
    return browser, browser.token(f"{address}/treat/")


def _listens(port: int) -> bool:
    with socket.socket() as door:
        return door.connect_ex(("127.0.0.1", port)) == 0
