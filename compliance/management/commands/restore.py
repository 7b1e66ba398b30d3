"""python3 manage.py restore FILE [--replace NAME] [--site CODE]"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from compliance.backup.errors import BackupFailed, RestoreFailed, RestoreRefused
from compliance.backup.restore import Restored, restore
from roster.models import Verb
from roster.record.protect import is_protected
from roster.record.write import record


class Command(BaseCommand):
    help = "Put a backup in the place of the database and the kept files, and prove what is there afterwards."
    requires_system_checks: list[str] = []  # the database may be empty
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a file that `manage.py backup` wrote")
        parser.add_argument("--replace", default="", metavar="NAME", help="name of a database in use, to be replaced")
        parser.add_argument("--site", default="", metavar="CODE", help="work out the last check of this site alone")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            done = restore(options["file"], replace=options["replace"], site=options["site"], say=self.stdout.write)
        except (BackupFailed, RestoreRefused, RestoreFailed) as error:
            raise CommandError(str(error)) from error
        record(Verb.IMPORTED, "backup", made_at=done.manifest.made_at, migrated=done.migrated, wrong=done.proof.wrong)
        self._tell(done)
        if done.proof.wrong:
            raise CommandError(f"Restored, and {len(done.proof.wrong)} things are not as they were: see above.")

    def _tell(self, done: Restored) -> None:
        proof, made_at = done.proof, f"{done.manifest.made_at:%Y-%m-%d %H:%M} UTC"
        for line in proof.wrong:
            self.stdout.write(line)
        self.stdout.write(
            f"Restored as of {made_at}. Worked out again: the last check of {proof.compared} sites"
            + (f"; {proof.not_compared} were made by other rules and are not compared." if proof.not_compared else ".")
        )
        if done.strays:
            self.stdout.write(f"{done.strays} kept files lie here that are not of the backup; no row of it names them.")
        if not is_protected():
            self.stdout.write("The database does not refuse edits of the record: run `manage.py protect_record`.")
        self.stdout.write(
            f"Whatever was recorded after {made_at} is not here: restrictions, labels, ends of allowances, accounts "
            "that were closed. Enter it again, and have every menu checked, before food is handed out by what "
            "stands here."
        )
