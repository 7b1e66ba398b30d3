"""python3 manage.py import_roster PATH [--dry-run] [--site SCHOOL=CODE …] [--create-sites] …"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError, CommandParser

from menus.imports.command import ImportCommand
from menus.imports.plan import ImportPlan
from roster.imports.plan import plan_import, plan_roster_folder


class Command(ImportCommand):
    help = "Import a class list (OneRoster CSV 1.1 or 1.2, bulk or delta): all of it, or nothing when a row is bad."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("path", type=Path, help="a zip, or a folder with manifest.csv and the other files")
        parser.add_argument("--dry-run", action="store_true", help="say what would be saved, and save nothing")
        parser.add_argument("--site", action="append", type=_pair, default=[], metavar="SCHOOL=CODE", help="which site")
        parser.add_argument("--create-sites", action="store_true", help="make a site for a school that has none")
        parser.add_argument(
            "--class-type", action="append", choices=("homeroom", "scheduled"), help="default: homeroom"
        )
        parser.add_argument(
            "--leave-out-bad-rows", action="store_true", help="import the others; nobody leaves a class"
        )
        parser.add_argument(
            "--confirm-endings", action="store_true", help="more than 5 %% of the children leave, and that is right"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["path"]
        context = {
            "sites": dict(options["site"]),
            "create_sites": options["create_sites"],
            "class_types": options["class_type"] or ("homeroom",),
            "leave_out": options["leave_out_bad_rows"],
            "confirm_endings": options["confirm_endings"],
        }
        try:
            plan = self._plan(path, context)
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}. Check the path and try again.") from error
        self.finish(plan, dry_run=options["dry_run"])

    def _plan(self, path: Path, context: dict[str, Any]) -> ImportPlan:
        if path.is_dir():
            return plan_roster_folder(path, **context)
        with path.open("rb") as file:
            return plan_import("roster", file, path.name, **context)


def _pair(text: str) -> tuple[str, str]:
    school, sign, code = text.partition("=")
    if not (school and sign and code):
        raise argparse.ArgumentTypeError(f"“{text}” is not SCHOOL=CODE; write for example S-901=cedar-brook")
    return school, code
