"""python3 manage.py import_supplied FILE [--dry-run]"""

from __future__ import annotations

from typing import IO, Any

from menus.imports.command import ImportCommand
from menus.imports.plan import ImportPlan, plan_rows
from menus.imports.supplied import SUPPLIED


class Command(ImportCommand):
    help = "Import suppliers' allergen codes from JSON-LD, CSV or XLSX: all of it, or nothing when a row is bad."

    def plan(self, file: IO[bytes], name: str, options: dict[str, Any]) -> ImportPlan:
        return plan_rows(SUPPLIED, file)
