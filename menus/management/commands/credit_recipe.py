"""Credit recipes to the components of a meal."""

from __future__ import annotations

import argparse
import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

from django.core.management.base import BaseCommand, CommandError

from menus.mealpattern.crediting.jsonl import read_lines

_STANDARD = Path("-")


class Command(BaseCommand):
    """`credit_recipe IN.jsonl OUT.jsonl`, `-` for standard input or output."""

    help = "Read recipes, one JSON object a line, and write what a serving of each credits, in the same order."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("source", type=Path, metavar="IN.jsonl", help="a file, or - for standard input")
        parser.add_argument("target", type=Path, metavar="OUT.jsonl", help="a file, or - for standard output")

    def handle(self, *args: Any, source: Path, target: Path, **options: Any) -> None:
        if source != _STANDARD and target.exists() and source.exists() and target.samefile(source):
            raise CommandError(
                f"{target} is to be both read and written, which would empty it first; nothing was touched, "
                "name another file."
            )
        bad = good = 0
        try:
            with _opened_in(source) as lines, self._opened_out(target) as answers:
                for answer in read_lines(lines):
                    answers.write(answer.line + "\n")
                    good += answer.is_good
                    bad += not answer.is_good
        except OSError as error:
            raise CommandError(
                f"{error.filename or 'The file'} could not be opened or written ({error.strerror}), so not every "
                "recipe was credited; check the path and the rights on it, then run the command again."
            ) from error
        if target != _STANDARD:
            self.stdout.write(f"{good:,} recipes credited.")
        if bad:
            raise CommandError(
                f"{bad:,} lines were not recipes; each has an 'error' in its place that says how to mend it."
            )

    @contextlib.contextmanager
    def _opened_out(self, path: Path) -> Iterator[Any]:
        if path == _STANDARD:
            yield _Bare(self.stdout)
        else:
            with path.open("w", encoding="utf-8", newline="\n") as answers:
                yield answers


class _Bare:
    """Standard output without the line end that Django adds."""

    def __init__(self, out: Any) -> None:
        self._out = out

    def write(self, text: str) -> None:
        self._out.write(text, ending="")


@contextlib.contextmanager
def _opened_in(path: Path) -> Iterator[IO[bytes]]:
    if path == _STANDARD:
        yield sys.stdin.buffer
    else:
        with path.open("rb") as lines:
            yield lines
