"""Read a file of label texts and write what each says."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from menus.labels.jsonl import read_lines
from menus.substances.groups import JURISDICTIONS


class Command(BaseCommand):
    """`read_labels IN.jsonl OUT.jsonl [--jurisdiction us]`."""

    help = "Read label texts, one JSON object a line, and write the substances each names, in the same order."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("source", type=Path, metavar="IN.jsonl")
        parser.add_argument("target", type=Path, metavar="OUT.jsonl")
        parser.add_argument("--jurisdiction", choices=JURISDICTIONS, default="us")

    def handle(self, *args: Any, source: Path, target: Path, jurisdiction: str, **options: Any) -> None:
        bad = good = 0
        try:
            with source.open("rb") as lines, target.open("w", encoding="utf-8", newline="\n") as answers:
                for answer in read_lines(lines, jurisdiction):
                    answers.write(answer.line + "\n")
                    good += answer.is_good
                    bad += not answer.is_good
        except OSError as error:
            raise CommandError(
                f"{error.filename} could not be opened ({error.strerror}), so not every label was read; "
                "check the path and the rights on it, then run the command again."
            ) from error
        self.stdout.write(f"{good:,} labels read.")
        if bad:
            raise CommandError(
                f"{bad:,} lines were not label rows; each has an 'error' in {target} that says how to mend it."
            )
