"""What a class list means for one child: arrives, comes back, moves, leaves. Pure: the day is passed in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from roster.imports.places import Adjustment, Period


class Kind(StrEnum):
    """What a child does, in the order in which it is told: what takes protection away comes first."""

    LEAVES = "Leaves"
    MOVES = "Moves"
    ARRIVES = "Arrives"
    COMES_BACK = "Comes back"
    OTHER_DAYS = "Other first or last day"


@dataclass(frozen=True, slots=True)
class Movement:
    """What a child does, and the rooms and days of it as one line."""

    kind: Kind
    words: str
    last_day: date | None = None  # of a child that leaves; None also when it had not begun


def applied(recorded: Iterable[Period], adjustments: Iterable[Adjustment]) -> list[Period]:
    """Return the periods as they are once the adjustments are made, in order."""
    stand = {period.id: period for period in recorded}
    added: list[Period] = []
    for change in adjustments:
        if change.old:
            del stand[change.old.id]
        if change.new:
            added.append(change.new)
    return sorted([*stand.values(), *added], key=lambda period: period.starts_on)


def movement(recorded: Sequence[Period], after: Sequence[Period], today: date) -> Movement | None:
    """Return what the child does, or None when all its days from today on stay as they are."""
    had, has = _ahead(recorded, today), _ahead(after, today)
    if _days(had) == _days(has):
        return None
    if _last(after) < _last(had):
        return _leave(had[-1], after)
    if not had:
        kind = Kind.COMES_BACK if recorded else Kind.ARRIVES
        return Movement(kind, "; then ".join(f"{each.room} from {each.starts_on}" for each in has))
    if [each.room for each in had] == [each.room for each in has]:
        return Movement(Kind.OTHER_DAYS, "; then ".join(map(_words, has)))
    return Movement(Kind.MOVES, _move(had, has, today))


def _ahead(periods: Sequence[Period], today: date) -> list[Period]:
    later = [period for period in periods if period.ends_on is None or period.ends_on >= today]
    return sorted(later, key=lambda period: period.starts_on)


def _last(periods: Sequence[Period]) -> date:
    return max((period.ends_on or date.max for period in periods), default=date.min)


def _days(periods: Sequence[Period]) -> list[tuple[str, date, date | None]]:
    return [(period.room, period.starts_on, period.ends_on) for period in periods]


def _leave(had: Period, after: Sequence[Period]) -> Movement:
    if not after:
        return Movement(Kind.LEAVES, f"{had.room}, before the first day")
    return Movement(Kind.LEAVES, f"{after[-1].room}, last day {after[-1].ends_on}", after[-1].ends_on)


def _words(period: Period) -> str:
    return f"{period.room} from {period.starts_on} to {period.ends_on or 'no set end'}"


def _move(had: Sequence[Period], has: Sequence[Period], today: date) -> str:
    was = had[0]
    new = next((each for each in has if each.room != was.room), has[-1])
    return f"{was.room} → {new.room} from {max(new.starts_on, today)}"
