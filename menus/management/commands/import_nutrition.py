"""python3 manage.py import_nutrition FILE [--dry-run]"""

from __future__ import annotations

from typing import IO, Any

from menus.imports.command import ImportCommand
from menus.imports.nutrition import NUTRITION
from menus.imports.plan import ImportPlan, plan_rows


class Command(ImportCommand):
    help = "Import what products hold from CSV or XLSX: all of it, or nothing when a row is bad."

    def plan(self, file: IO[bytes], name: str, options: dict[str, Any]) -> ImportPlan:
        return plan_rows(NUTRITION, file)
