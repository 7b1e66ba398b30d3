"""python3 manage.py backup FILE | backup --verify FILE"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from compliance.backup.archive import read_archive
from compliance.backup.errors import BackupFailed
from compliance.backup.manifest import Manifest
from compliance.backup.take import FILES, back_up
from roster.models import Verb
from roster.record.write import record

CAUTION = (
    "The file holds children's health data, and the database in it is not encrypted: keep it where only those may come "
    "to it who may see all of that. The keys are not in it. Keep RECORD_KEY and FILE_KEYS (or their files in DATA_DIR) "
    "in another place: without them it cannot be restored."
)


class Command(BaseCommand):
    help = "Write the database and the kept files into one file, and read it back."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a new file, such as /backups/2026-11-29.tar.gz")
        parser.add_argument("--verify", action="store_true", help="read a backup that is there, and say what is in it")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            if options["verify"]:
                self.stdout.write(f"{path} is whole. {_said(read_archive(path))}")
                return
            manifest = back_up(path, timezone.now())
        except BackupFailed as error:
            raise CommandError(str(error)) from error
        rows = sum(manifest.rows.values())
        record(Verb.EXPORTED, "backup", made_at=manifest.made_at, rows=rows, files=_files(manifest))
        self.stdout.write(f"{path} was written and read back. {_said(manifest)}\n{CAUTION}")


def _said(manifest: Manifest) -> str:
    return (
        f"Made {manifest.made_at:%Y-%m-%d %H:%M} UTC by version {manifest.version} on {manifest.engine} "
        f"{manifest.server}: {sum(manifest.rows.values()):,} rows in {len(manifest.rows)} tables, "
        f"{_files(manifest):,} kept files, {sum(each.bytes for each in manifest.members.values()):,} bytes."
    )


def _files(manifest: Manifest) -> int:
    return sum(name.startswith(f"{FILES}/") for name in manifest.members)
