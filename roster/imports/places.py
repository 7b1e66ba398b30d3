"""Bring one child's enrolments into line with a full class list, without touching the past."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

DAY = timedelta(days=1)
BRIDGED = timedelta(days=7)
"""A child who is between two classes for no longer than this sits in the old one: somebody feeds the child meanwhile.
Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Period:
    """A child in a room from one day to another, both included; no end when `ends_on` is None."""

    room: str
    starts_on: date
    ends_on: date | None
    id: int = 0  # of the recorded enrolment; 0: not recorded yet
    row: int = 0  # of the file; 0: of an earlier one
    is_listed: bool = False  # a part of the list, and not only of the records

    def overlaps(self, other: Period) -> bool:
        """Tell whether they share a day."""
        return self.starts_on <= (other.ends_on or date.max) and other.starts_on <= (self.ends_on or date.max)


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What is to be done: `new` without an id is added, with one is changed; without `new` the enrolment goes."""

    old: Period | None
    new: Period | None


def first_overlap(periods: Sequence[Period]) -> tuple[Period, Period] | None:
    """Return two periods of one child that share a day, if any do."""
    ordered = sorted(periods, key=lambda period: period.starts_on)
    return next(((a, b) for a, b in pairwise(ordered) if a.overlaps(b)), None)


def adjust(recorded: Sequence[Period], listed: Sequence[Period], *, today: date, end_absent: bool) -> list[Adjustment]:
    """Return how the recorded periods become the listed ones; changes and endings come before additions.

    Days before today stay as they were recorded, so an added period begins after whatever it would overlap. A current
    period that the list no longer holds ends yesterday when the list has the child elsewhere today, on the eve of the
    next class when that begins within a week, otherwise today: one day too long is the cautious mistake. Without
    `end_absent` it stays.
    """
    matches = _matched(recorded, listed)
    taken = {old.id for old in matches.values() if old}
    changes: list[Adjustment] = []
    kept: list[Period] = []
    last = _last_day(listed, today)
    for old in recorded:
        if old.id in taken:
            continue
        left = _ended(old, last) if end_absent else old
        if left:
            kept.append(left)
        if left != old:
            changes.append(Adjustment(old, left))
    kept += _stuck(matches, kept)
    additions: list[Adjustment] = []
    for new, match in matches.items():
        fitted = _after(new, kept)
        if fitted is None:
            continue
        if match is None:
            additions.append(Adjustment(None, fitted))
        elif (match.starts_on, match.ends_on) != (fitted.starts_on, fitted.ends_on):
            changed = replace(fitted, room=match.room, id=match.id)
            changes.append(Adjustment(match, changed))
    return changes + additions


def _stuck(matches: Mapping[Period, Period | None], kept: Sequence[Period]) -> list[Period]:
    """Return the recorded periods that stay as they are, since no day of the listed one they match is free."""
    stuck: list[Period] = []
    while more := [
        match for new, match in matches.items() if match and match not in stuck and _after(new, [*kept, *stuck]) is None
    ]:
        stuck += more
    return stuck


def _matched(recorded: Sequence[Period], listed: Sequence[Period]) -> dict[Period, Period | None]:
    """Match each listed period with the latest recorded one of its room that shares a day with it."""
    free = sorted(recorded, key=lambda period: period.starts_on, reverse=True)
    matches: dict[Period, Period | None] = {}
    for new in sorted(listed, key=lambda period: period.starts_on, reverse=True):
        match = next((old for old in free if old.room == new.room and old.overlaps(new)), None)
        if match:
            free.remove(match)
        matches[new] = match
    return matches


def _last_day(listed: Sequence[Period], today: date) -> date:
    """Return the last day of a period that the list no longer holds."""
    if any(new.starts_on <= today <= (new.ends_on or date.max) for new in listed):
        return today - DAY
    ahead = [new.starts_on for new in listed if today < new.starts_on <= today + BRIDGED]
    return min(ahead) - DAY if ahead else today


def _ended(old: Period, last: date) -> Period | None:
    """Return what is left of a period that the list no longer holds; None when it had not begun."""
    if old.ends_on and old.ends_on <= last:
        return old
    return Period(old.room, old.starts_on, last, old.id) if old.starts_on <= last else None


def _after(new: Period, kept: Sequence[Period]) -> Period | None:
    """Return the part of the period that begins after every kept one it overlaps, or None when nothing is left."""
    for stay in sorted(kept, key=lambda period: period.starts_on):
        if new.overlaps(stay):
            if stay.ends_on is None or (new.ends_on and new.ends_on <= stay.ends_on):
                return None
            new = replace(new, starts_on=stay.ends_on + DAY)
    return new
