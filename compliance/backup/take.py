"""Take a backup, and read it back before anybody relies on it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Protocol

from django.core.files.storage import default_storage
from django.db import Error as DatabaseFailed
from django.db import connection
from django.db.migrations.recorder import MigrationRecorder

from compliance.backup import postgres, sqlite
from compliance.backup.archive import new_archive, read_archive
from compliance.backup.errors import BackupFailed
from compliance.backup.keys import Fingerprints
from compliance.backup.manifest import Manifest, Member
from compliance.config.version import version

DATABASE = "database"
FILES = "files"


def back_up(path: Path, now: datetime) -> Manifest:
    """Write the database and the kept files into one new file, read it back, and return its list.

    The database is copied first, as of one moment: a file that was stored afterwards does no harm, and one that a row
    names was there. Raises BackupFailed, with nothing left behind, when any of it goes wrong.
    """
    path = path.absolute()
    if not path.parent.is_dir():
        raise BackupFailed(f"The folder {path.parent} is not there. Make it, or name another.")
    try:
        # Beside the backup: there must be room for it there, and the copy never lies where others may read.
        with (
            TemporaryDirectory(prefix=".backup-", dir=path.parent) as folder,
            new_archive(path, now.timestamp()) as made,
        ):
            copy = Path(folder) / DATABASE
            rows = engine().dump(copy)
            made.add(DATABASE, copy)
            copy.unlink()
            for name, file in kept_files():
                with suppress(FileNotFoundError):  # a photo that nobody used may be discarded meanwhile
                    made.add(f"{FILES}/{name}", file)
            made.close(_manifest(now, rows, made.members))
    except (OSError, DatabaseFailed) as error:
        raise BackupFailed(f"The backup could not be written: {_why(error)}. Nothing was kept of it.") from error
    try:
        return read_archive(path)
    except BackupFailed:
        path.unlink(missing_ok=True)
        raise


def engine_name() -> str:
    """Return "sqlite" or "postgresql"."""
    return str(connection.vendor)


class Engine(Protocol):
    """What copies a database into a file and back."""

    def dump(self, target: Path) -> dict[str, int]:
        """Copy it as of one moment, and return its rows by table."""

    def load(self, source: Path) -> None:
        """Put the copy in the place of the whole database, at once or not at all."""


ENGINES: dict[str, Engine] = {"sqlite": sqlite, "postgresql": postgres}


def engine() -> Engine:
    """Return what copies the database of this service."""
    return ENGINES[engine_name()]


def file_folder() -> Path:
    """Return the folder of the kept files, which are encrypted there and stay so."""
    return Path(default_storage.path(""))


def kept_files() -> Iterator[tuple[str, Path]]:
    """Yield every kept file with its name below the folder; none that is only being written."""
    root = file_folder()
    for file in sorted(root.rglob("*")):
        if file.is_file() and file.suffix != ".rotating":
            yield file.relative_to(root).as_posix(), file


def migrations_here() -> tuple[tuple[str, str], ...]:
    """Return what the database has been migrated to, as app and name."""
    return tuple(sorted(MigrationRecorder(connection).applied_migrations()))


def _manifest(now: datetime, rows: dict[str, int], members: dict[str, Member]) -> Manifest:
    return Manifest(
        made_at=now,
        version=version(),
        engine=engine_name(),
        server=".".join(str(part) for part in connection.get_database_version()),
        migrations=migrations_here(),
        rows=rows,
        members=members,
        keys=Fingerprints.taken(),
    )


def _why(error: Exception) -> str:
    return os.strerror(error.errno) if isinstance(error, OSError) and error.errno else str(error)
