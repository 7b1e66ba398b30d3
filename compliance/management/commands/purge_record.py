"""python3 manage.py purge_record [--dry-run]"""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from compliance.checks.retention import due_for_purge, purge_all


class Command(BaseCommand):
    help = "Empty the entries of the record of actions that are older than RECORD_KEEP_DAYS. Their place stays."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--dry-run", action="store_true", help="say what would be emptied, and empty nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.RECORD_KEEP_DAYS:
            self.stdout.write("RECORD_KEEP_DAYS is not set, so the record is kept for ever. Nothing was emptied.")
            return
        now = timezone.now()
        if options["dry_run"]:
            for due in due_for_purge(now):
                place = due.site or "no one site"
                self.stdout.write(f"{place}: {due.count:,} entries before {due.before:%Y-%m-%d} would be emptied.")
            self.stdout.write("Dry run, nothing was emptied.")
            return
        self.stdout.write(f"{purge_all(now):,} entries were emptied; their numbers, verbs and seals stay.")
