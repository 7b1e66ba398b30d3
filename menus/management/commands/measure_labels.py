"""Measure the label reader on files of labels whose allergens are known from elsewhere."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from menus.labels.measuring.measure import Measure, measure
from menus.labels.measuring.rows import BadFile, Row, is_aside, rows_of


class Command(BaseCommand):
    """`measure_labels PATH… [--region us|other-en|all] [--only aside|worked] [--errors FILE]`."""

    help = "Print how well labels are read, with 95 % intervals, and write every error to a file for review."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("paths", nargs="+", type=Path, metavar="PATH")
        parser.add_argument("--region", default="us", help="only rows of this region, or all; the bars are set for us")
        parser.add_argument("--only", choices=("aside", "worked"), help="only the third kept aside, or the rest")
        parser.add_argument("--errors", type=Path, default=settings.DATA_DIR / "label-errors.jsonl", metavar="FILE")

    def handle(
        self, *args: Any, paths: list[Path], region: str, only: str | None, errors: Path, **options: Any
    ) -> None:
        try:
            with errors.open("w", encoding="utf-8", newline="\n") as out:
                for path in paths:
                    found = measure(path, chosen(rows_of(path), region, only))
                    self._tell(path, found)
                    out.writelines(
                        json.dumps({"file": path.name, **row}, ensure_ascii=False) + "\n" for row in found.errors
                    )
        except BadFile as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            if error.filename is None:
                raise  # not about a path: a closed pipe behind the printout
            raise CommandError(
                f"{error.filename} could not be opened ({error.strerror}), so not everything was measured; check the "
                "path and the rights on it, then run the command again."
            ) from error
        self.stdout.write(f"Rows to review: {errors}")

    def _tell(self, path: Path, found: Measure) -> None:
        self.stdout.write(f"{path.name}: {found.title}")
        for figure in found.figures():
            if figure.proportion.of:
                self.stdout.write(f"  {figure}")
        for note in found.notes():
            self.stdout.write(f"  {note}")
        self.stdout.write(f"  rows with something to review: {len(found.errors):,}\n")


def chosen(rows: Iterator[Row], region: str, only: str | None) -> Iterator[Row]:
    """The rows of the region (rows that name none belong to every one) and of the third asked for."""
    for row in rows:
        if region != "all" and row.get("region", region) != region:
            continue
        if only is None or is_aside(row) is (only == "aside"):
            yield row
