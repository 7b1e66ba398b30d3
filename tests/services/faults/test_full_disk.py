"""The disk fills up in the middle of a slice, and somebody makes room."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from subprocess import CalledProcessError

import psycopg
import pytest

from tests.services.faults.conftest import DISTRICT, KEYS, Make, settle
from tests.services.faults.crew import crew
from tests.services.faults.machines import Postgres
from tests.services.faults.pause import gate
from tests.services.faults.watch import Watch
from tests.services.faults.whole import whole
from tests.services.faults.world import SITES
from tests.services.servers import Service

pytestmark = pytest.mark.services

MEGABYTES = 96
FULL = "full"
FIRST_STORED = "compliance_prepareddish"
"""Into this a check writes first: what comes later might find room in pages that are there."""
TIGHT = "tests.services.faults.tight_settings"
PAGES = """
import sqlite3
with sqlite3.connect("{file}") as database:
    print(database.execute("PRAGMA page_count").fetchone()[0])
"""
MORE = "INSERT INTO ballast SELECT repeat('x', 1000) FROM generate_series(1, %s)"
ONE_TRY = """
from django.utils import timezone
from compliance.checks.nights.close import close
from compliance.checks.nights.start import start_nights
from compliance.checks.nights.work import work
from compliance.models import CheckedDay, Night, NightSlice, Run
[night] = Night.objects.all() or start_nights(timezone.now())
NightSlice.objects.update(not_before=None)
for part in night.slices.open():
    work(part.pk)
close(night.pk, timezone.now())
[part] = night.slices.all()
print(CheckedDay.objects.count() > 0, Run.objects.complete().count(), part.state, part.error)
"""


def fill(database: str) -> None:
    """Take up what is left of the database's disk."""
    with psycopg.connect(database, autocommit=True) as connection:
        connection.execute("CREATE TABLE ballast (bytes text) WITH (autovacuum_enabled = false)")
        for rows in (1_000_000, 1):  # many make the server ask for many pages at once, and leave what is less than that
            with pytest.raises(psycopg.errors.DiskFull):  # the rows are undone; the pages that they took stay taken
                while connection.execute(MORE, [rows]):
                    pass


def test_postgresql_without_room(machine: Postgres, make: Make) -> None:
    """A real disk of a few megabytes: what could not be stored is told, and stored once there is room again."""
    with ExitStack() as stack:
        try:
            disk = stack.enter_context(machine.small_disk(MEGABYTES))
        except CalledProcessError:
            pytest.skip("this machine lets nobody mount a small disk")
        database = machine.make(FULL, like=DISTRICT, on=disk)
        try:
            service, watch = make(DATABASE_URL=database), Watch(database)
            with crew(service) as staff:
                with gate(database, FIRST_STORED) as storing:
                    worker = staff.worker()
                    staff.beat()
                    storing.reached()
                    fill(database)
                worker.said("DiskFull")
                watch.do("DROP TABLE ballast")
                watch.all_complete()
            whole(service)
        finally:
            machine.drop(FULL)


def test_sqlite_without_room(tmp_path: Path) -> None:
    """A slice in one process keeps nothing half, says why it waits, and goes through once there is room."""
    service = Service(tmp_path, **KEYS)
    settle(service)
    pages = PAGES.format(file=tmp_path / "service.sqlite3")
    most = str(int(service.run("-c", pages)) + 2)
    tight = Service(tmp_path, **KEYS, DJANGO_SETTINGS_MODULE=TIGHT, MOST_PAGES=most)
    assert tight.script(ONE_TRY).splitlines()[-1] == "False 0 waiting OperationalError: database or disk is full"
    assert service.script(ONE_TRY).split() == ["True", str(SITES), "done"]
    whole(service)
