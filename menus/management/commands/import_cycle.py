"""python3 manage.py import_cycle FILE --site CODE --name NAME --starts-on MONDAY [--ends-on DAY] [--pauses]"""

from __future__ import annotations

from datetime import date
from typing import IO, Any

from django.core.management.base import CommandError, CommandParser

from menus.imports.command import ImportCommand
from menus.imports.cycle import CYCLE
from menus.imports.plan import ImportPlan, plan_rows
from menus.models import Site


class Command(ImportCommand):
    help = "Import a cycle menu of one site from a CSV or XLSX file: all of it, or nothing when a row is bad."

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--site", required=True, help="code of the site")
        parser.add_argument("--name", required=True, help="name of the menu; a recorded one of that name is changed")
        parser.add_argument("--starts-on", required=True, type=date.fromisoformat, help="Monday of week 1, YYYY-MM-DD")
        parser.add_argument("--ends-on", type=date.fromisoformat, help="last day, YYYY-MM-DD; none: it goes on")
        parser.add_argument("--pauses", action="store_true", help="it waits for a week without meals")

    def plan(self, file: IO[bytes], name: str, options: dict[str, Any]) -> ImportPlan:
        site = Site.objects.filter(code=options["site"]).first()
        if site is None:
            codes = ", ".join(Site.objects.values_list("code", flat=True)) or "none yet"
            raise CommandError(f"No site has the code “{options['site']}”. Sites are: {codes}.")
        beside = {"menu": options["name"], "starts_on": options["starts_on"], "ends_on": options["ends_on"]}
        beside["pauses"] = options["pauses"]
        return plan_rows(CYCLE, file, site=site, **beside)
