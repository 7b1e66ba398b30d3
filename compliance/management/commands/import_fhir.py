"""python3 manage.py import_fhir FILE [--dry-run] [--child PATIENT=ID …]"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from compliance.checks.recordintake import take_in
from compliance.web.numbers import row_number
from menus.imports.problem import Unreadable
from menus.imports.sheet import read_bytes
from roster.fhir.files import open_file
from roster.fhir.lines import Line, Plan
from roster.fhir.plan import plan_of
from roster.fhir.take import confirm, planned, receive
from roster.models import Child, Finding


class Command(BaseCommand):
    help = "Take in health records (FHIR R4 AllergyIntolerance, JSON): they add protection and take none away."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a Bundle, one resource, or one resource a line")
        parser.add_argument("--dry-run", action="store_true", help="say what it would come to, and keep nothing")
        parser.add_argument(
            "--child",
            action="append",
            type=_pair,
            default=[],
            metavar="PATIENT=ID",
            help="this patient of the file is the child with that id: your word on it",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        named = {patient: _child(number) for patient, number in options["child"]}
        try:
            with path.open("rb") as file:
                data = read_bytes(file)
            plan = plan_of(open_file(data), Child.objects.all(), {key: child.pk for key, child in named.items()})
        except OSError as error:
            raise CommandError(f"{path} cannot be read: {error.strerror}. Check the path and try again.") from error
        except Unreadable as error:
            raise CommandError(f"Nothing was kept: {error.problem}") from error
        self._tell(plan)
        if options["dry_run"]:
            self.stdout.write(f"Dry run, nothing was kept. It comes to: {_counted(plan)}.")
            return
        kept = receive(data, by=None)
        for patient, child in named.items():
            confirm(kept, patient, child, by=None)
        taken = take_in(kept, planned(kept, Child.objects.all()), ticked={}, by=None)
        self.stdout.write(f"Kept as {kept}. Recorded: {len(taken.recorded)}, in force from now. {_counted(plan)}.")

    def _tell(self, plan: Plan) -> None:
        """One line an entry, by the child's id: a name would stand in whatever keeps this output."""
        for match in plan.matches:
            whom = f"child {match.child.pk}" if match.child else "nobody found"
            self.stdout.write(f"{match.patient.key or 'a patient without a reference'}: {whom}")
            for each in match.candidates:
                self.stdout.write(f"  may be child {each.pk}: look, then say --child {match.patient.key}={each.pk}")
        for line in plan.lines:
            self.stdout.write(_line(line))
        for kind, count in plan.left.items():
            self.stdout.write(f"not looked at: {count} {kind}")


def _line(line: Line) -> str:
    parts = [line.place, f"“{line.words}”" if line.words else "", line.finding.label]
    names = ", ".join((*line.adds, *line.told))
    said = "" if line.finding is Finding.UNMATCHED else line.said  # it names the patient
    offered = f"suggested: {', '.join(line.offered)}" if line.offered else ""
    return ": ".join(filter(None, [*parts, names, said, offered]))


def _counted(plan: Plan) -> str:
    return ", ".join(f"{count} {finding.label.lower()}" for finding, count in plan.counts) or "no entry about food"


def _child(number: str) -> Child:
    child = Child.objects.filter(pk=row_number(number)).first()
    if child is None:
        raise CommandError(f"No child has the id “{number}”. The dry run lists who may be meant.")
    return child


def _pair(text: str) -> tuple[str, str]:
    patient, sign, number = text.rpartition("=")
    if not (patient and sign and number):
        raise argparse.ArgumentTypeError(f"“{text}” is not PATIENT=ID; write for example Patient/p1=12")
    return patient, number
