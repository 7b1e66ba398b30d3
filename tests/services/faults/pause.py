"""Hold a worker in the middle of its work, without a clock: it waits for a lock that the test has."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager

import psycopg
from psycopg import sql

from tests.services.servers import wait_for

STORING = "compliance_checkedday"
"""A table into which every check writes in the transaction that stores what it found."""
WAITING = "SELECT count(*) FROM pg_locks WHERE relation = %s::regclass AND NOT granted"


class Gate:
    """A table into which nobody can write for the moment."""

    def __init__(self, connection: psycopg.Connection, table: str) -> None:
        self._connection = connection
        self._table = table

    def reached(self, how_many: int = 1, seconds: float = 60) -> None:
        """Return once so many stand before the gate, in the middle of what they are doing."""
        wait_for(self._waiting, how_many, seconds)

    def open(self) -> None:
        """Let them go on, and whoever comes later."""
        self._connection.rollback()

    def _waiting(self) -> int:
        row = self._connection.execute(WAITING, [self._table]).fetchone()
        assert row is not None
        return int(row[0])


@contextmanager
def gate(database: str, table: str = STORING) -> Iterator[Gate]:
    """Keep everybody from writing into the table until the gate is opened, or until the block ends."""
    with closing(psycopg.connect(database)) as connection:
        connection.execute(sql.SQL("LOCK TABLE {} IN SHARE MODE").format(sql.Identifier(table)))
        yield Gate(connection, table)
