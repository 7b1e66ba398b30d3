"""Measure speed."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from menus.kitchen.speed import TOLD, Timing, timings
from menus.labels.label import LONGEST_LABEL
from menus.labels.lexicon import Lexicon
from menus.labels.measuring.rows import BadFile, rows_of
from menus.labels.measuring.speed import INGREDIENTS, alternation_speed, growths, made_labels, reading_speeds

SIZES = (1_000, 10_000, 100_000)
DAYS = (10, 1_000, 100_000)
NEAR = 5
"""How far from forty the commas of a real statement may be."""


class Command(BaseCommand):
    """`benchmark labels [--statements FILE] [--count N]`, `benchmark carryover`."""

    help = "Print how fast labels are read, or a kitchen's day is followed, beside a plain way, and how that grows."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("subject", choices=("labels", "carryover"))
        parser.add_argument("--statements", type=Path, metavar="FILE", help="JSON lines with real statements")
        parser.add_argument("--count", type=int, default=2_000, help="how many labels to make where no file is given")

    def handle(self, *args: Any, subject: str, statements: Path | None, count: int, **options: Any) -> None:
        if subject == "labels":
            self._labels(statements, count)
        else:
            self._carryover()

    def _labels(self, statements: Path | None, count: int) -> None:
        lexicon = Lexicon.load()
        texts = _real(statements) if statements else made_labels(lexicon, count)
        if len(texts) < 2:
            raise CommandError("Fewer than two labels are left to read; give a longer file or a higher --count.")
        self.stdout.write(f"{len(texts):,} labels of about {INGREDIENTS} ingredients, one core")
        plain = alternation_speed(lexicon, texts[:50])
        self.stdout.write(f"  {plain.name:<38}{plain.rate:>10,.0f} a second")
        for speed in reading_speeds(texts):
            ratio = speed.rate / plain.rate
            self.stdout.write(f"  {speed.name:<38}{speed.rate:>10,.0f} a second  {ratio:8,.1f} times as fast")
        self.stdout.write("hostile texts of 1, 10 and 100 kB, in seconds, and how many times the one before")
        for growth in growths(SIZES):
            one, ten, hundred = growth.seconds
            self.stdout.write(
                f"  {growth.name:<20}{one:8.4f} {ten:8.4f} {hundred:8.4f}   x{ten / one:.1f} x{hundred / ten:.1f}"
            )

    def _carryover(self) -> None:
        self.stdout.write(f"a day followed, beside one substance at a time; every chain of {TOLD} dishes told")
        self.stdout.write("  events    seconds  µs each  growth  one by one   times     chains    seconds")
        before: Timing | None = None
        for day in timings(DAYS):
            growth = f"x{day.followed / before.followed:,.1f}" if before else ""
            self.stdout.write(
                f"  {day.events:<8,}{day.followed:9.4f}{day.followed / day.events * 1e6:9.1f}{growth:>8}"
                f"{day.plainly:12.4f}{day.plainly / day.followed:8.1f}{day.chains:11,}{day.told:11.4f}"
            )
            before = day


def _real(path: Path) -> list[str]:
    try:
        texts = [str(row.get("statement", "")) for row in rows_of(path)]
    except BadFile as error:
        raise CommandError(str(error)) from error
    except OSError as error:
        raise CommandError(f"{path} could not be opened ({error.strerror}); check the path and the rights.") from error
    return [text for text in texts if abs(text.count(",") - INGREDIENTS) <= NEAR and len(text) <= LONGEST_LABEL]
