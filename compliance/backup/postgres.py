"""A PostgreSQL database into a file and back, by PostgreSQL's own programs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from django.db import connection, transaction

from compliance.backup.errors import BackupFailed, RestoreFailed, RestoreRefused
from compliance.backup.programs import ProgramFailed, folder_of_programs, run

PUBLIC = "public"
"""The schema in which the service has its tables: PostgreSQL's first, as every new database has it."""


def dump(target: Path) -> dict[str, int]:
    """Copy the database as of one moment into a new file, and return its rows by table, of the same moment.

    Source: PostgreSQL, “pg_dump”, option --snapshot (from memory).
    """
    try:
        programs = folder_of_programs()
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
                cursor.execute("SELECT pg_export_snapshot()")
                (snapshot,) = cursor.fetchone()
            options = ("--format=custom", "--compress=0", "--no-owner", "--no-privileges", f"--schema={PUBLIC}")
            run(programs, "pg_dump", *options, f"--snapshot={snapshot}", f"--file={target}")
            return _rows()
    except ProgramFailed as error:
        raise BackupFailed(f"The database could not be copied, and nothing was kept. {error}") from error


def load(source: Path) -> None:
    """Put the copy in the place of the whole database, in one transaction: at once or not at all."""
    script = source.with_name("database.sql")
    try:
        programs = folder_of_programs()
        run(
            programs,
            "pg_restore",
            "--no-owner",
            "--no-privileges",
            f"--schema={PUBLIC}",
            f"--file={script}",
            str(source),
            database=False,
        )
    except ProgramFailed as error:
        raise RestoreRefused(f"The copy in the backup could not be read. {error}") from error
    connection.close()  # its locks would stand in the way
    try:
        run(programs, "psql", *_once(f"DROP SCHEMA IF EXISTS {PUBLIC} CASCADE", f"CREATE SCHEMA {PUBLIC}"), str(script))
    except ProgramFailed as error:
        raise RestoreFailed(
            f"The database could not be written, and holds what it held before. {error} The role needs the right to "
            f"make the schema {PUBLIC} anew: let it own the database. Stop every worker, then restore again."
        ) from error


def _once(*statements: str) -> Sequence[str]:
    quiet = ("--no-psqlrc", "--quiet", "--single-transaction", "--set=ON_ERROR_STOP=1")
    return (*quiet, *(f"--command={each}" for each in statements), "--file")


def _rows() -> dict[str, int]:
    with connection.cursor() as cursor:
        counts = {}
        for name in sorted(connection.introspection.table_names(cursor)):
            cursor.execute(f"SELECT count(*) FROM {connection.ops.quote_name(name)}")
            counts[name] = cursor.fetchone()[0]
        return counts
