"""Print how fast labels are read and a kitchen's day is followed: what `benchmark labels` and `carryover` say."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from django.core.management.base import CommandError

from menus.kitchen.speed import TOLD, Timing, timings
from menus.labels.label import LONGEST_LABEL
from menus.labels.lexicon import Lexicon
from menus.labels.measuring.rows import BadFile, rows_of
from menus.labels.measuring.speed import INGREDIENTS, alternation_speed, growths, made_labels, reading_speeds

SIZES = (1_000, 10_000, 100_000)
DAYS = (10, 1_000, 100_000)
NEAR = 5
"""How far from forty the commas of a real statement may be."""

Say = Callable[[str], object]
"""Prints one line."""


def labels(say: Say, statements: Path | None, count: int) -> None:
    """Say how fast labels are read, those of a file or so many made ones. Raises CommandError for fewer than two."""
    lexicon = Lexicon.load()
    texts = _real(statements) if statements else made_labels(lexicon, count)
    if len(texts) < 2:
        raise CommandError("Fewer than two labels are left to read; give a longer file or a higher --count.")
    say(f"{len(texts):,} labels of about {INGREDIENTS} ingredients, one core")
    plain = alternation_speed(lexicon, texts[:50])
    say(f"  {plain.name:<38}{plain.rate:>10,.0f} a second")
    for speed in reading_speeds(texts):
        ratio = speed.rate / plain.rate
        say(f"  {speed.name:<38}{speed.rate:>10,.0f} a second  {ratio:8,.1f} times as fast")
    say("hostile texts of 1, 10 and 100 kB, in seconds, and how many times the one before")
    for growth in growths(SIZES):
        one, ten, hundred = growth.seconds
        say(f"  {growth.name:<20}{one:8.4f} {ten:8.4f} {hundred:8.4f}   x{ten / one:.1f} x{hundred / ten:.1f}")


def carryover(say: Say) -> None:
    """Say how fast days of several sizes are followed."""
    say(f"a day followed, beside one substance at a time; every chain of {TOLD} dishes told")
    say("  events    seconds  µs each  growth  one by one   times     chains    seconds")
    before: Timing | None = None
    for day in timings(DAYS):
        growth = f"x{day.followed / before.followed:,.1f}" if before else ""
        say(
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
