"""python3 manage.py verify_record"""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from roster.models.action import Action
from roster.record.protect import is_protected
from roster.record.verify import faults


class Command(BaseCommand):
    help = "Look for gaps and edits in the record of actions."

    def handle(self, *args: Any, **options: Any) -> None:
        found = list(faults())
        for fault in found:
            place = f"Site {fault.chain}" if fault.chain else "No one site"
            self.stdout.write(f"{place}, entry {fault.number}: {fault.what}")
        if found:
            raise CommandError(
                f"Faults in the record of actions: {len(found)}. Keep the database as it is, restore a backup "
                "elsewhere, and compare the entries named above."
            )
        self.stdout.write(f"{Action.objects.count():,} entries, every one in its place and as it was written.")
        if not is_protected():
            self.stdout.write("The database does not refuse edits of the record: run `manage.py protect_record`.")
