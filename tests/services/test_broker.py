"""The nightly check on a real Valkey and a real PostgreSQL, by a real Celery worker and beat.

It finds what the one process on SQLite finds, and running it twice changes nothing.
"""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from typing import Any

import psycopg
import pytest

from tests.services.servers import Service, wait_for

pytestmark = pytest.mark.services

FILL = "from tests.cast import assemble; assemble()"
ONCE_MORE = """
from compliance.checks.nights.start import start_by_hand
from compliance.tasks import sweep_nights
from menus.models import Site
start_by_hand(list(Site.objects.all()))
sweep_nights.delay()
"""
FOUND = """
import json
from datetime import timedelta
from django.utils import timezone
from compliance.checks.exceptions import ExceptionFilter, find_exceptions
from compliance.models import Run
today = timezone.now().date()
rows = find_exceptions(None, ExceptionFilter(today - timedelta(days=2), today + timedelta(days=30)))
met = [
    [row.date.isoformat(), row.site.code, row.dish, str(row.child), row.restriction.substance, row.outcome.code]
    + [[reason.rule, reason.words, [link.name for link in reason.chain]] for reason in row.reasons]
    for row in rows
]
print(json.dumps([met, dict(Run.objects.complete().order_by("pk").values_list("site__code", "result_hash"))]))
"""
KEPT = (
    "compliance_dishverdicts",
    "compliance_checkedday",
    "compliance_panel",
    "compliance_prepareddish",
    "compliance_serveddish",
    "compliance_runrestriction",
    "compliance_referral",
    "menus_serving",
)


def found(service: Service) -> Any:
    """Return every exception with its reasons, and the fingerprint of each site's last run."""
    return json.loads(service.script(FOUND).splitlines()[-1])


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Service:
    """The service on SQLite without a broker, with the cast, after its night."""
    service = Service(tmp_path_factory.mktemp("alone"))
    service.run("manage.py", "migrate", "-v", "0")
    service.script(FILL)
    service.run("manage.py", "nightly")
    return service


@pytest.fixture(scope="module")
def together(postgres: str, valkey: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Service]:
    """The service on PostgreSQL and Valkey, with the cast, its worker and its beat running."""
    service = Service(tmp_path_factory.mktemp("together"), DATABASE_URL=postgres, CELERY_BROKER_URL=valkey)
    service.run("manage.py", "migrate", "-v", "0")
    service.script(FILL)
    with (
        service.celery("worker", "--concurrency", "2", "--hostname", "worker@service"),
        service.celery("beat"),
    ):
        yield service


def ask(postgres: str, sql: str) -> Any:
    """Return the first value that PostgreSQL answers with."""
    with psycopg.connect(postgres) as database:
        row = database.execute(sql).fetchone()
        return row[0] if row else None


def nights(postgres: str, state: str) -> list[int]:
    """Return how many sites were checked in each night of that state."""
    with psycopg.connect(postgres) as database:
        rows = database.execute("SELECT counts FROM compliance_night WHERE state = %s ORDER BY id", [state])
        return [counts["checked"] for (counts,) in rows]


def test_the_night_finds_what_it_finds_in_one_process(alone: Service, together: Service, postgres: str) -> None:
    """Beat notices that the checks are due; the worker does them; the findings are the same to the word."""
    wait_for(lambda: nights(postgres, "complete"), [2])

    here, there = found(alone), found(together)

    assert len(here[0]) >= 5, "the cast meets something today"
    assert here == there


def test_running_it_twice_changes_nothing(together: Service, postgres: str) -> None:
    """The second run says that it is the same as the first, and adds no verdict, dish, serving or referral."""
    wait_for(lambda: nights(postgres, "complete"), [2])
    before = {table: ask(postgres, f"SELECT count(*) FROM {table}") for table in KEPT}
    assert before["compliance_dishverdicts"] > 0

    together.script(ONCE_MORE)
    wait_for(lambda: nights(postgres, "complete"), [2, 2])

    assert {table: ask(postgres, f"SELECT count(*) FROM {table}") for table in KEPT} == before
    assert ask(postgres, "SELECT count(*) FROM compliance_run WHERE same_as_id IS NOT NULL") >= 2


@pytest.mark.parametrize("node", ["worker@service", f"celerybeat@{socket.gethostname()}"])
def test_worker_and_beat_answer_their_health_checks(together: Service, node: str) -> None:
    """As docker-compose.yml asks them."""
    said = together.run(
        "-m", "celery", "--app", "compliance.config", "inspect", "ping", "--timeout", "10", "--destination", node
    )
    assert f"{node}: OK" in said
