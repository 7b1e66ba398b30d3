"""A SQLite database into a file and back, by SQLite's own online copy: others go on reading meanwhile."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from django.db import connection

from compliance.backup.errors import BackupFailed, RestoreFailed, RestoreRefused


def dump(target: Path) -> dict[str, int]:
    """Copy the database as of one moment into a new file, and return its rows by table.

    Source: SQLite, “Online Backup API” (from memory).
    """
    connection.ensure_connection()
    try:
        with closing(sqlite3.connect(target)) as copy:
            connection.connection.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # all of it in the one file
            _check(copy)
            return _rows(copy)
    except sqlite3.Error as error:
        raise BackupFailed(f"The database could not be copied, and nothing was kept: {error}.") from error


def load(source: Path) -> None:
    """Put the copy in the place of the whole database, at once or not at all.

    Raises RestoreRefused for a copy that is damaged, or while somebody else writes.
    """
    with closing(sqlite3.connect(f"{source.as_uri()}?mode=ro", uri=True)) as copy:
        try:
            _check(copy)
        except (BackupFailed, sqlite3.Error) as error:
            raise RestoreRefused(f"The database in the backup is damaged: {error}") from error
        connection.ensure_connection()
        try:
            connection.connection.execute("BEGIN IMMEDIATE")
            connection.connection.execute("ROLLBACK")
        except sqlite3.Error as error:
            raise RestoreRefused(f"The database is in use ({error}). Stop the service, then try again.") from error
        try:
            copy.backup(connection.connection)
        except sqlite3.Error as error:
            raise RestoreFailed(f"The database could not be written: {error}. Make room and restore again.") from error
    connection.close()


def _check(database: sqlite3.Connection) -> None:
    told = database.execute("PRAGMA integrity_check").fetchone()[0]
    if told != "ok":
        raise BackupFailed(f"SQLite finds the database damaged: {told}. Restore an earlier backup.")


def _rows(database: sqlite3.Connection) -> dict[str, int]:
    names = database.execute("SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    return {name: database.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in sorted(names)}
