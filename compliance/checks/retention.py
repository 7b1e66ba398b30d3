"""How long the record of actions is kept: for ever, unless a setting says otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.conf import settings

from compliance.models import Incident
from menus.models import Site
from roster.record.purge import past_their_time, purge

LEAST_DAYS = 1_521
"""Three years after the last claim of a fiscal year, which is due 60 days after the year's end: 365 + 60 + 3 × 365 + 1.

Source: 7 CFR 210.9(b)(17), 210.8(b)(1) and 226.10(d), from memory. Local rules may ask for more.
"""


@dataclass(frozen=True, slots=True)
class Due:
    """The entries of one site, or of none, that are past their time."""

    site: Site | None
    before: datetime
    count: int


def due_for_purge(now: datetime) -> Iterator[Due]:
    """Yield what a purge would empty now, site by site. Nothing while RECORD_KEEP_DAYS is not set.

    What an open incident may need stays, at its site and among what belongs to no one site. Three queries a site.
    """
    if not settings.RECORD_KEEP_DAYS:
        return
    oldest = now - timedelta(days=max(settings.RECORD_KEEP_DAYS, LEAST_DAYS))
    for site in [None, *Site.objects.all()]:
        needed = Incident.objects.needed_from(site)
        before = min(oldest, needed) if needed else oldest
        count = past_their_time(site=site, before=before).count()
        if count:
            yield Due(site, before, count)


def purge_all(now: datetime) -> int:
    """Empty what is due, each site in transactions of its own, and return how many entries."""
    return sum(_purge(due) for due in list(due_for_purge(now)))


def _purge(due: Due) -> int:
    done = 0
    while part := purge(site=due.site, before=due.before):
        done += part
    return done
