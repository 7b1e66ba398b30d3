"""The machines, and a fresh copy of the little district on them for each test."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.services.faults.crew import Crew, crew
from tests.services.faults.machines import Postgres, Valkey
from tests.services.faults.machines import postgres as a_postgres
from tests.services.faults.watch import Watch
from tests.services.servers import Service

DISTRICT = "district"

KEYS = {"SECRET_KEY": "of the fault tests", "RECORD_KEY": "of the fault tests"}
SETTINGS = KEYS | {
    "LOG_LEVEL": "INFO",
    "NIGHT_SLICE_SITES": "2",
    "NIGHT_TICK_SECONDS": "1",
    "NIGHT_LEASE_SECONDS": "5",
}

Make = Callable[..., Service]


def settle(service: Service) -> None:
    """Make the tables, and write the district into them."""
    service.run("manage.py", "migrate", "-v", "0")
    service.script("from tests.services.faults.world import fill; fill()")


@pytest.fixture(scope="package")
def machine(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Postgres]:
    """A PostgreSQL that holds the little district, to be copied."""
    with a_postgres(tmp_path_factory.mktemp("runtime")) as server:
        service = Service(tmp_path_factory.mktemp("district"), **KEYS, DATABASE_URL=server.make(DISTRICT))
        settle(service)
        yield server


@pytest.fixture(scope="package")
def a_valkey() -> Iterator[Valkey]:
    """A Valkey of this folder's own."""
    server = Valkey()
    yield server
    server.kill()


@pytest.fixture
def broker(a_valkey: Valkey) -> Valkey:
    """The Valkey, empty."""
    a_valkey.empty()
    return a_valkey


@pytest.fixture
def database(machine: Postgres, request: pytest.FixtureRequest) -> Iterator[str]:
    """Where this test's copy of the district is."""
    name = re.sub(r"\W+", "_", request.node.name.lower())[:60]
    yield machine.make(name, like=DISTRICT)
    machine.drop(name)


@pytest.fixture
def watch(database: str) -> Watch:
    """Looks on at that database."""
    return Watch(database)


@pytest.fixture
def make(database: str, broker: Valkey, tmp_path: Path) -> Make:
    """Makes the service on this test's machines; further settings may be given."""

    def service(**more: str) -> Service:
        return Service(tmp_path, **SETTINGS | {"DATABASE_URL": database, "CELERY_BROKER_URL": broker.address} | more)

    return service


@pytest.fixture
def service(make: Make) -> Service:
    """The service on this test's machines."""
    return make()


@pytest.fixture
def staff(service: Service) -> Iterator[Crew]:
    """Whoever works for that service; killed at the end of the test."""
    with crew(service) as at_work:
        yield at_work
