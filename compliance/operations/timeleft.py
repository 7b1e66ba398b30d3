"""How long something will go on, judged by how long what is done took."""

from __future__ import annotations

from datetime import timedelta


def time_left(elapsed: timedelta, done: int, total: int) -> timedelta | None:
    """Return how long the rest will take at the pace so far; None while nothing is done, since there is no pace yet.

    However many work on it at a time, the pace is that of all together.
    """
    if done <= 0:
        return None
    return elapsed * max(0, total - done) / done


def in_words(span: timedelta) -> str:
    """Return a length of time as people say it: 40 seconds, 3 minutes, 31 hours, 4 days. Never more exact than that."""
    seconds = max(0, round(span.total_seconds()))
    for unit, name, enough in ((86_400, "day", 172_800), (3600, "hour", 7200), (60, "minute", 90)):
        if seconds >= enough:
            return _counted(round(seconds / unit), name)
    return _counted(seconds, "second")


def _counted(count: int, name: str) -> str:
    return f"{count} {name}{'' if count == 1 else 's'}"
