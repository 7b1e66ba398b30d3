"""Follow the allergens through one day."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from menus.kitchen.daytrace import trace_day
from menus.management.jsonfile import STANDARD, as_json, read_json


class Command(BaseCommand):
    """`trace_day DAY.json`, or `-` for standard input."""

    help = "Read what a kitchen did in one day, and print as JSON what each dish holds and what may have come to it."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("day", type=Path, metavar="DAY.json", help="a file, or - for standard input")

    def handle(self, *args: Any, day: Path, **options: Any) -> None:
        name = "standard input" if day == STANDARD else str(day)
        self.stdout.write(as_json(trace_day(read_json(day, name))))
