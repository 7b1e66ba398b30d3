"""The district's benchmark on a real PostgreSQL: binary COPY, the one query, and what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlsplit

import psycopg
import pytest

from compliance.benchmarks.database import COPY, copied
from compliance.benchmarks.memory import peak_mib
from compliance.benchmarks.stage import StageFailed, run_stage, surroundings
from compliance.benchmarks.workers import worker


@pytest.fixture
def empty(postgres: str) -> Iterator[str]:
    """The address of a database of its own: the other tests' holds sites."""
    with psycopg.connect(postgres, autocommit=True) as database:
        database.execute("CREATE DATABASE benchmark")
        yield urlsplit(postgres)._replace(path="/benchmark").geturl()
        database.execute("DROP DATABASE benchmark WITH (FORCE)")


def test_the_ways_agree_on_postgresql(empty: str) -> None:
    """Two small sites, one with an order of work: every way counts the same, in processes of their own."""
    world = run_stage("world", empty, children=750)
    assert (world["sites"], world["restricted"]) == (2, 60)
    figures = run_stage("nightly", empty, most_sites=None)
    assert figures["on"]["database"].startswith("postgresql ")
    assert figures["counts"]["exceptions"] == figures["agreed"]["one query"] == figures["agreed"]["stored verdicts"] > 0
    assert 0 < figures["agreed"]["loop"] < figures["counts"]["exceptions"]
    assert all(ratio is not None for ratio in figures["ratios"].values())
    with pytest.raises(StageFailed, match="an empty database only"):
        run_stage("world", empty, children=10)


def test_a_worker_does_what_was_queued(empty: str, valkey: str) -> None:
    """One complete run for each site and night, by a worker that knows nothing but the queue."""
    run_stage("world", empty, children=750)
    with worker(surroundings(empty, valkey), "benchmark") as pid:
        told = run_stage("workers", empty, valkey, most_sites=None)
        assert (peak_mib(pid) or 0) > 50
    assert told["first"]["runs"] == told["night"]["runs"] == told["sites"] == 2
    assert told["first"]["found"]["withhold"] > 0


def test_a_copy_of_the_district_is_gone_afterwards(empty: str) -> None:
    """Each number of workers begins with the same district."""
    with psycopg.connect(empty, autocommit=True) as database:
        database.execute("CREATE TABLE kept AS SELECT 7 AS number")
    with copied(empty) as address, psycopg.connect(address) as copy:
        assert copy.execute("SELECT number FROM kept").fetchone() == (7,)
        copy.execute("DROP TABLE kept")
    with psycopg.connect(empty) as database:
        assert database.execute("SELECT count(*) FROM kept").fetchone() == (1,)
        names = database.execute("SELECT datname FROM pg_database").fetchall()
    assert (COPY,) not in names
