"""The district's benchmark on a real PostgreSQL: binary COPY, the one query, and what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import urlsplit

import psycopg
import pytest

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
    assert figures["counts"]["exceptions"] == figures["agreed"]["one query"] == figures["agreed"]["together"] > 0
    assert 0 < figures["agreed"]["loop"] < figures["counts"]["exceptions"]
    assert all(ratio is not None for ratio in figures["ratios"].values())
    with pytest.raises(StageFailed, match="an empty database only"):
        run_stage("world", empty, children=10)


def test_a_worker_does_what_was_queued(empty: str, valkey: str) -> None:
    """One complete run for each site, by a worker that knows nothing but the queue."""
    run_stage("world", empty, children=750)
    with worker(surroundings(empty, valkey), "benchmark"):
        told = run_stage("workers", empty, valkey, most_sites=None)
    assert told["runs"] == told["sites"] == 2
    assert told["found"]["withhold"] > 0
