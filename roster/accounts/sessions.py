"""When a session ends: after how long without a touch and after how long at all, by role, as a table of data."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from functools import cache
from importlib.resources import files

from roster.models import Post


@dataclass(frozen=True, slots=True)
class Limit:
    """How long a session of one role lasts. `ends_with_day`: no longer than the day on the clock of the post's site."""

    idle: timedelta
    longest: timedelta
    ends_with_day: bool


@dataclass(frozen=True, slots=True)
class Ends:
    """When one session ends: after `idle` without a touch, and at `at` whatever happens."""

    idle: timedelta
    at: datetime


@cache
def limits() -> dict[str, Limit]:
    """Return the limits by role; under the empty text those of somebody without a post."""
    text = (files("roster.accounts") / "data" / "sessions.csv").read_text(encoding="utf-8")
    return {
        row["role"]: Limit(
            idle=timedelta(minutes=int(row["idle_minutes"])),
            longest=timedelta(hours=int(row["hours"])),
            ends_with_day=row["ends_with_day"] == "yes",
        )
        for row in csv.DictReader(text.splitlines())
    }


def ends_of(posts: Iterable[Post], began: datetime) -> Ends:
    """Return when a session begun then ends for somebody who holds these posts: the strictest of their roles counts."""
    held = [(post, limits()[post.role]) for post in posts]
    if not held:
        nobody = limits()[""]
        return Ends(nobody.idle, began + nobody.longest)
    return Ends(min(limit.idle for _, limit in held), min(_last_moment(post, limit, began) for post, limit in held))


def _last_moment(post: Post, limit: Limit, began: datetime) -> datetime:
    at = began + limit.longest
    if not limit.ends_with_day:
        return at
    day = began.astimezone(post.zone).date() + timedelta(days=1)
    return min(at, datetime.combine(day, time.min, tzinfo=post.zone))
