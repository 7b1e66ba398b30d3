"""What the work under way is about, so that log lines can tell it: ids, never a name."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

FIELDS = ("request", "task", "night", "slice", "run")
"""What there is to tell: the ids of an HTTP request, a Celery task, a night, a slice of one, a run."""

_told: ContextVar[dict[str, str | int] | None] = ContextVar("about", default=None)


@contextmanager
def about(**ids: str | int) -> Iterator[None]:
    """Have log lines tell these ids while the block lasts, beside those told already.

    Raises ValueError for what is not in FIELDS: whatever else stood here might be about a person.
    """
    if unknown := sorted(set(ids) - set(FIELDS)):
        raise ValueError(f"Log lines do not tell {', '.join(unknown)}. They tell: {', '.join(FIELDS)}.")
    token = _told.set({**told(), **ids})
    try:
        yield
    finally:
        _told.reset(token)


def told() -> dict[str, str | int]:
    """Return the ids that are told at present."""
    return _told.get() or {}


class AboutFilter(logging.Filter):
    """Lets every line through, and puts the ids on it as `about`."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.about = told()
        return True
