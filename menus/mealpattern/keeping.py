"""How a packed lunch keeps: temperatures, and how long it may stand without. Advice; local codes prevail."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import time
from functools import cache

from menus.mealpattern.hazards import rows

COLD, HOT = "cold", "hot"


@dataclass(frozen=True, slots=True)
class Limit:
    """One row: a temperature in °F, or a time in minutes; and who says so."""

    id: str  # "cold" | "hot" | "time" | "home"
    least: int | None
    most: int | None
    says: str
    source: str
    verified: str  # "read" | "memory"


@dataclass(frozen=True, slots=True)
class Keeping:
    """What is to be said of one box. `minutes` is None where the times are not known, or the eating comes first."""

    cold: bool  # something in it is kept cold, or nobody knows
    hot: bool
    minutes: int | None  # from packing to eating
    at_temperature: bool  # by ice or a flask
    over: tuple[str, ...]  # ids of the time limits that are passed

    @property
    def matters(self) -> bool:
        """Whether anything in the box has to be kept cold or hot."""
        return self.cold or self.hot


@cache
def limits() -> dict[str, Limit]:
    """Return the limits by id."""
    return {row["id"]: _limit(row) for row in rows("keeping.csv")}


def keeping(keeps: Collection[str], packed: time | None, eaten: time | None, *, at_temperature: bool) -> Keeping:
    """Return how a box keeps whose foods are kept so: "cold", "hot", "any", or "" where nobody knows.

    What is not known is taken for something to keep cold.
    """
    minutes = None if packed is None or eaten is None else _minutes(eaten) - _minutes(packed)
    if minutes is not None and minutes < 0:
        minutes = None
    cold, hot = COLD in keeps or "" in keeps, HOT in keeps
    counted = minutes if (cold or hot) and not at_temperature else None
    over = tuple(each.id for each in limits().values() if counted is not None and _passed(each, counted))
    return Keeping(cold, hot, minutes, at_temperature, over)


def _passed(limit: Limit, minutes: int) -> bool:
    return limit.id in ("time", "home") and limit.most is not None and minutes > limit.most


def _minutes(clock: time) -> int:
    return clock.hour * 60 + clock.minute


def _limit(row: dict[str, str]) -> Limit:
    return Limit(
        id=row["id"],
        least=int(row["least"]) if row["least"] else None,
        most=int(row["most"]) if row["most"] else None,
        says=row["says"],
        source=row["source"],
        verified=row["verified"],
    )
