"""What the import commands have in common."""

from __future__ import annotations

from pathlib import Path
from typing import IO, Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from menus.imports.plan import ImportPlan, ImportRefused
from menus.imports.problem import counted


class ImportCommand(BaseCommand):
    """Reads one file, lists every problem, and saves all of it or nothing."""

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="CSV (UTF-8) or XLSX file")
        parser.add_argument("--dry-run", action="store_true", help="say what would be saved, and save nothing")

    def plan(self, file: IO[bytes], name: str, options: dict[str, Any]) -> ImportPlan:
        """Return the plan of the open file."""
        raise NotImplementedError

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            with path.open("rb") as file:
                plan = self.plan(file, path.name, options)
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}. Check the path and try again.") from error
        self.finish(plan, dry_run=options["dry_run"])

    def finish(self, plan: ImportPlan, *, dry_run: bool) -> None:
        """Print notes and problems, then save unless it is a dry run. Problems end the command with an error."""
        for note in plan.notes:
            self.stdout.write(f"note: {note}")
        for heading, lines in plan.told.items():
            self.stdout.write(f"{heading}: {len(lines)}")
            for line in lines:
                self.stdout.write(f"  {line}")
        if plan.problems:
            for problem in plan.problems:
                self.stderr.write(str(problem))
            raise CommandError(f"Nothing was saved: {counted(plan.problems)} and run the import again.")
        if dry_run:
            self.stdout.write(f"Dry run, nothing was saved. Saving would give: {plan.summary}.")
            return
        try:
            plan.save()
        except ImportRefused as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"Saved: {plan.summary}.")
