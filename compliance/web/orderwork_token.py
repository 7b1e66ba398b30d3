"""A proposed order of work on its way from page to page: signed, so that what is taken over is what was shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time

from django.core import signing

from compliance.checks.orderplan import Change

SALT = "order of work"
GOOD_FOR = 24 * 3600
"""Seconds. After that the day is another one."""


@dataclass(frozen=True, slots=True)
class Proposed:
    """An order of work that was shown to somebody."""

    site: str
    day: date
    meal: str
    changes: tuple[Change, ...]


def sealed(site: str, day: date, meal: str, changes: Sequence[Change]) -> str:
    """Return the proposal as text for an address or a form."""
    rows = [[each.old, f"{each.at:%H:%M}", each.surface, each.method, each.minutes] for each in changes]
    return signing.dumps([site, day.isoformat(), meal, rows], salt=SALT, compress=True)


def unsealed(text: str) -> Proposed | None:
    """Return the proposal, or None when it is too old or not ours."""
    try:
        site, day, meal, rows = signing.loads(text, salt=SALT, max_age=GOOD_FOR)
    except signing.BadSignature:
        return None
    changes = (
        Change(old, time.fromisoformat(at), surface, method, minutes) for old, at, surface, method, minutes in rows
    )
    return Proposed(site, date.fromisoformat(day), meal, tuple(changes))
