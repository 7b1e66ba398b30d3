"""Hold one week of a menu against the meal pattern of its program."""

from __future__ import annotations

import argparse
import json
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from menus.mealpattern.patterns.answer import check_week
from menus.mealpattern.patterns.weekfile import BadWeek


class Command(BaseCommand):
    """`check_week WEEK.json`, or `-` for standard input."""

    help = "Hold one week of a menu against the meal pattern of its program, and print as JSON what it does not meet."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("week", type=Path, metavar="WEEK.json", help="a file, or - for standard input")

    def handle(self, *args: Any, week: Path, **options: Any) -> None:
        name = "Standard input" if str(week) == "-" else str(week)
        try:
            answer = check_week(_parsed(week, name))
        except BadWeek as error:
            faults = "\n".join(f"- {fault}" for fault in error.faults)
            raise CommandError(
                f"{name} could not be judged:\n{faults}".encode("utf-8", "backslashreplace").decode()
            ) from error
        text = json.dumps(answer, ensure_ascii=False, indent=2)
        # Half a character, which JSON can hold and no output can, is written as its escape.
        self.stdout.write(text.encode("utf-8", "backslashreplace").decode())


def _parsed(week: Path, name: str) -> Any:
    try:
        text = (sys.stdin.buffer.read() if str(week) == "-" else week.read_bytes()).decode("utf-8-sig")
        return json.loads(text, parse_float=Decimal, object_pairs_hook=_object)
    except OSError as error:
        raise CommandError(f"{name} could not be opened ({error.strerror}); check the path and the rights.") from error
    except UnicodeDecodeError as error:
        raise CommandError(f"{name} is not UTF-8 text, so nothing was read; save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:
        raise CommandError(f"{name} is not JSON ({error}), so nothing was read; mend it and run this again.") from error


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return the object, or refuse one that says a key twice: which of the two is meant, nobody knows."""
    found = dict(pairs)
    if len(found) < len(pairs):
        twice = next(key for number, (key, _) in enumerate(pairs) if key in dict(pairs[:number]))
        raise ValueError(f"the key {json.dumps(twice)} stands twice in one object")
    return found
