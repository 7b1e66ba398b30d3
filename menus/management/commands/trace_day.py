"""Follow the allergens through one day."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from menus.kitchen.daytrace import trace_day


class Command(BaseCommand):
    """`trace_day DAY.json`, or `-` for standard input."""

    help = "Read what a kitchen did in one day, and print as JSON what each dish holds and what may have come to it."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("day", type=Path, metavar="DAY.json", help="a file, or - for standard input")

    def handle(self, *args: Any, day: Path, **options: Any) -> None:
        answer = trace_day(_parsed(day))
        text = json.dumps(answer, ensure_ascii=False, indent=2)
        # Half a character, which JSON can hold and no output can, is written as its escape.
        self.stdout.write(text.encode("utf-8", "backslashreplace").decode())


def _parsed(day: Path) -> Any:
    name = "standard input" if str(day) == "-" else str(day)
    try:
        return json.loads((sys.stdin.buffer.read() if str(day) == "-" else day.read_bytes()).decode("utf-8-sig"))
    except OSError as error:
        raise CommandError(f"{name} could not be opened ({error.strerror}); check the path and the rights.") from error
    except UnicodeDecodeError as error:
        raise CommandError(f"{name} is not UTF-8 text, so nothing was read; save it as UTF-8.") from error
    except (ValueError, RecursionError) as error:
        raise CommandError(f"{name} is not JSON ({error}), so nothing was read; mend it and run this again.") from error
