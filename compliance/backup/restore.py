"""Put a backup in place: refused unless it is whole, ours, and wanted; proved afterwards."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader

from compliance.backup.archive import read_archive
from compliance.backup.errors import RestoreFailed, RestoreRefused
from compliance.backup.keys import Fingerprints
from compliance.backup.manifest import Manifest
from compliance.backup.proof import Proof, Said, files_that_lack, prove, rows_that_differ
from compliance.backup.take import DATABASE, FILES, engine, engine_name, file_folder, kept_files

WORDS_OF = {"sqlite": "SQLite", "postgresql": "PostgreSQL"}
HELD_BY_USE = ("menus_site", "roster_user", "roster_action")
"""A database with a row in any of these is in use; whatever else `migrate` writes is in every new one."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What was restored, what is proved of it, and how many kept files lie there that are not of the backup."""

    manifest: Manifest
    proof: Proof
    migrated: bool
    strays: int


def restore(path: Path, *, replace: str = "", site: str = "", say: Said = lambda line: None) -> Restored:
    """Put the backup in the place of the database and the kept files, migrate, and prove the result.

    `replace` is the name of the database, where one that is in use is to be replaced. `site` is the code of the one
    site whose last check is worked out again; empty: of every site. Whoever was signed in then signs in anew. Raises
    BackupFailed for a file that is not to be trusted and RestoreRefused for one that does not fit here, both with
    nothing changed; RestoreFailed when the database could not be written.
    """
    with _unpacked(path, say) as (manifest, folder):
        _refuse_other_keys(manifest)
        _refuse_other_engine(manifest)
        _refuse_newer(manifest)
        _refuse_to_replace(replace)
        say("Writing the database …")
        engine().load(folder / DATABASE)
        say("Writing the kept files …")
        _put_files(folder / FILES)
        wrong = list(rows_that_differ(manifest.rows))
    migrated = _migrated(manifest, say)
    Session.objects.all().delete()  # one that has ended since must not open again
    proof = prove(site, say)
    proof.wrong[:0] = [*wrong, *files_that_lack(file_folder())]
    ours = {name.removeprefix(f"{FILES}/") for name in manifest.members}
    return Restored(manifest, proof, migrated, sum(name not in ours for name, _ in kept_files()))


def database_name() -> str:
    """Return the name by which the database is asked for: that of PostgreSQL's, or of SQLite's file."""
    name = str(connection.settings_dict["NAME"])
    return Path(name).name if engine_name() == "sqlite" else name


@contextmanager
def _unpacked(path: Path, say: Said) -> Iterator[tuple[Manifest, Path]]:
    settings.DATA_DIR.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".restore-", dir=settings.DATA_DIR) as folder:
        say("Reading the backup …")
        yield read_archive(path, Path(folder)), Path(folder)


def _refuse_other_keys(manifest: Manifest) -> None:
    here = Fingerprints.taken(manifest.keys.salt)
    if here.record != manifest.keys.record:
        raise RestoreRefused(
            "The record of actions in the backup was sealed with another RECORD_KEY, so nobody could verify it here. "
            "Set the one that was used then, or put its file into DATA_DIR, and restore again. Nothing was changed."
        )
    if missing := set(manifest.keys.files) - set(here.files):
        raise RestoreRefused(
            f"Kept files in the backup may be encrypted with {len(missing)} key that is not among FILE_KEYS here. Set "
            "the keys that were used then, the newest first, and restore again. Nothing was changed."
        )


def _refuse_other_engine(manifest: Manifest) -> None:
    if manifest.engine != engine_name():
        raise RestoreRefused(
            f"The backup is of {WORDS_OF.get(manifest.engine, manifest.engine)}, and this service runs on "
            f"{WORDS_OF[engine_name()]}. Set DATABASE_URL to a database of the same kind. Nothing was changed."
        )


def _refuse_newer(manifest: Manifest) -> None:
    known = set(MigrationLoader(None).disk_migrations)
    ours = {app for app, _ in known}
    if newer := [f"{app} {name}" for app, name in manifest.migrations if app in ours and (app, name) not in known]:
        raise RestoreRefused(
            f"The backup was made by a newer version of the service ({manifest.version}): this one does not know "
            f"{newer[0]}. Install that version, then restore. Nothing was changed."
        )


def _refuse_to_replace(replace: str) -> None:
    name = database_name()
    if is_in_use() and replace != name:
        raise RestoreRefused(
            f"The database “{name}” is in use: it has sites, people or a record of actions. All of it would be gone. "
            f"Take a backup of it first, stop the service, and then restore with --replace {name}. Nothing was changed."
        )


def is_in_use() -> bool:
    """Tell whether the database holds anything that somebody entered."""
    with connection.cursor() as cursor:
        held = set(connection.introspection.table_names(cursor)) & set(HELD_BY_USE)
        for table in sorted(held):
            cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(table)} LIMIT 1")
            if cursor.fetchone():
                return True
    return False


def _put_files(folder: Path) -> None:
    """Put each file in its place at once or not at all; others that are there stay."""
    for source in sorted(folder.rglob("*")) if folder.exists() else []:
        if not source.is_file():
            continue
        target = file_folder() / source.relative_to(folder)
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        unfinished = target.with_name(f"{target.name}.rotating")  # which nobody takes for a kept file
        try:
            shutil.copyfile(source, unfinished)
            unfinished.chmod(0o600)
            unfinished.replace(target)
        except OSError as error:
            raise RestoreFailed(
                f"The kept files could not be written: {error.strerror}. The database is that of the backup by now: "
                "mend it and restore again."
            ) from error


def _migrated(manifest: Manifest, say: Said) -> bool:
    """Bring an older database into the form of this version, and tell whether there was anything to do."""
    known = set(MigrationLoader(None).disk_migrations)
    if not known - set(manifest.migrations):
        return False
    say("Bringing the database into the form of this version …")
    try:
        call_command("migrate", interactive=False, verbosity=0)
    except DatabaseError as error:
        raise RestoreFailed(
            f"The backup is of an older version ({manifest.version}), and its database could not be brought into the "
            f"form of this one: {error}. Restore it with that version, then upgrade."
        ) from error
    return True
