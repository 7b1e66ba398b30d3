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
NIGHT = """
from compliance.tasks import nightly
from menus.models import Site
for site in Site.objects.all():
    nightly{how}(site.pk)
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
    "compliance_verdict",
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
    service.script(NIGHT.format(how=""))
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


def complete_runs(postgres: str) -> int:
    """Return how many runs came to their end."""
    number: int = ask(postgres, "SELECT count(*) FROM compliance_run WHERE state = 'complete'")
    return number


def test_the_night_finds_what_it_finds_in_one_process(alone: Service, together: Service, postgres: str) -> None:
    """Beat notices that the checks are due; the worker does them; the findings are the same to the word."""
    wait_for(lambda: complete_runs(postgres) >= 2, True)

    here, there = found(alone), found(together)

    assert len(here[0]) >= 5, "the cast meets something today"
    assert here == there


def test_running_it_twice_changes_nothing(together: Service, postgres: str) -> None:
    """The second run says that it is the same as the first, and adds no verdict, dish, serving or referral."""
    wait_for(lambda: complete_runs(postgres) >= 2, True)
    runs = complete_runs(postgres)
    before = {table: ask(postgres, f"SELECT count(*) FROM {table}") for table in KEPT}
    assert before["compliance_verdict"] > 0

    together.script(NIGHT.format(how=".delay"))
    # On a slow machine beat may add a run of its own; that changes nothing either.
    wait_for(lambda: complete_runs(postgres) >= runs + 2, True)

    assert {table: ask(postgres, f"SELECT count(*) FROM {table}") for table in KEPT} == before
    assert ask(postgres, "SELECT count(*) FROM compliance_run WHERE same_as_id IS NOT NULL") >= 2


@pytest.mark.parametrize("node", ["worker@service", f"celerybeat@{socket.gethostname()}"])
def test_worker_and_beat_answer_their_health_checks(together: Service, node: str) -> None:
    """As docker-compose.yml asks them."""
    said = together.run(
        "-m", "celery", "--app", "compliance.config", "inspect", "ping", "--timeout", "10", "--destination", node
    )
    assert f"{node}: OK" in said
