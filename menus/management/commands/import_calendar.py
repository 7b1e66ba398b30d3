"""python3 manage.py import_calendar FILE [--dry-run]"""

from __future__ import annotations

from typing import IO, Any

from menus.imports.closures import CLOSURES
from menus.imports.command import ImportCommand
from menus.imports.plan import ImportPlan, plan_rows


class Command(ImportCommand):
    help = "Import days without meals from a CSV or XLSX file: all of it, or nothing when a row is bad."

    def plan(self, file: IO[bytes], name: str, options: dict[str, Any]) -> ImportPlan:
        return plan_rows(CLOSURES, file)
