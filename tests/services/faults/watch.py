"""Look on from outside while a night runs: at the database for what has come of it, at the queue to say something."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
from celery import Celery
from psycopg import sql

from tests.services.faults.world import SITES
from tests.services.servers import wait_for

PATIENCE = 180
"""Seconds: many times what anything here takes, for a machine that is busy with something else."""
ORDINARY, NIGHTS = "celery", "nights"
COMPLETE = "SELECT count(DISTINCT site_id) FROM compliance_run WHERE state = 'complete'"
SLICES = "SELECT count(*) FROM compliance_nightslice WHERE state = %s"
CLOSED = """
    SELECT count(*) FILTER (WHERE state <> 'running') > 0 AND count(*) FILTER (WHERE state = 'running') = 0
    FROM compliance_night
"""


class Watch:
    """What one sees of a service by its database alone."""

    def __init__(self, database: str) -> None:
        self._database = database

    def one(self, statement: str, *values: Any) -> Any:
        """Return the first value that the database answers with."""
        return next(iter(self.column(statement, *values)), None)

    def column(self, statement: str, *values: Any) -> list[Any]:
        """Return the first value of every row that the database answers with."""
        with psycopg.connect(self._database) as connection:
            return [row[0] for row in connection.execute(statement, values)]

    def do(self, statement: str, *values: Any) -> None:
        """Change something behind the service's back."""
        with psycopg.connect(self._database, autocommit=True) as connection:
            connection.execute(statement, values)

    def counts(self, tables: Iterable[str]) -> dict[str, int]:
        """Return how many rows these tables of the judgement hold."""
        with psycopg.connect(self._database) as connection:
            counted = {}
            for table in tables:
                name = sql.Identifier(f"compliance_{table}")
                row = connection.execute(sql.SQL("SELECT count(*) FROM {}").format(name)).fetchone()
                counted[table] = row[0] if row else 0
            return counted

    def slices(self, number: int, state: str, seconds: float = PATIENCE) -> None:
        """Return once so many slices are in that state."""
        wait_for(lambda: self.one(SLICES, state), number, seconds)

    def all_complete(self, sites: int = SITES, seconds: float = PATIENCE) -> None:
        """Return once every slice of the night is done, the night is closed and so many sites have a complete run."""
        wait_for(lambda: self.one(CLOSED), True, seconds)
        wait_for(lambda: self.one(COMPLETE), sites, seconds)
        assert self.column("SELECT error FROM compliance_nightslice WHERE state <> 'done'") == []


class Queue:
    """A way to put messages into the queue as beat does, without being the service."""

    def __init__(self, app: Celery) -> None:
        self._app = app

    def send(self, task: str, *arguments: Any) -> None:
        """Put a task into its queue."""
        self._app.send_task(f"compliance.tasks.{task}", arguments, queue=NIGHTS if task == "run_slice" else ORDINARY)

    def all_done(self, seconds: float = PATIENCE) -> None:
        """Return once no message waits and none is in anybody's hands."""
        with self._app.connection_for_read() as connection:
            client = connection.default_channel.client
            wait_for(lambda: client.llen(ORDINARY) + client.llen(NIGHTS) + client.hlen("unacked"), 0, seconds)


@contextmanager
def queue(broker: str) -> Iterator[Queue]:
    """The queue of that broker while the block lasts."""
    app = Celery("faults", broker=broker, set_as_current=False)
    try:
        yield Queue(app)
    finally:
        app.close()
