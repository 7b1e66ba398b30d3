"""Hold one week of a menu against the meal pattern of its program."""

from __future__ import annotations

import argparse
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from menus.management.jsonfile import STANDARD, as_json, printable, read_json
from menus.mealpattern.patterns.answer import check_week
from menus.mealpattern.patterns.weekfile import BadWeek


class Command(BaseCommand):
    """`check_week WEEK.json`, or `-` for standard input."""

    help = "Hold one week of a menu against the meal pattern of its program, and print as JSON what it does not meet."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("week", type=Path, metavar="WEEK.json", help="a file, or - for standard input")

    def handle(self, *args: Any, week: Path, **options: Any) -> None:
        name = "Standard input" if week == STANDARD else str(week)
        try:
            answer = check_week(read_json(week, name, parse_float=Decimal, object_pairs_hook=_object))
        except BadWeek as error:
            faults = "\n".join(f"- {fault}" for fault in error.faults)
            raise CommandError(printable(f"{name} could not be judged:\n{faults}")) from error
        self.stdout.write(as_json(answer))


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return the object, or refuse one that says a key twice: which of the two is meant, nobody knows."""
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(key for number, (key, _) in enumerate(pairs) if key in dict(pairs[:number]))
        raise ValueError(f"the key {json.dumps(twice)} stands twice in one object")
    return found
