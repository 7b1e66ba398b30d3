"""Nights, slices and dead letters as they stand in the database, for tests of whoever reads them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone

from compliance.models import DeadLetter, Night, NightSlice, Run
from menus.models import Site

Reason, State = DeadLetter.Reason, NightSlice.State


def night_of(sites: Iterable[Site], *, size: int = 50, begun: datetime | None = None, **how: Any) -> Night:
    """A night that checked all of these sites, in slices of that size; it took two minutes and ended an hour ago."""
    begun = begun or timezone.now() - timedelta(minutes=62)
    made: dict[str, Any] = {
        "due_at": begun,
        "started_at": begun,
        "closed_at": begun + timedelta(minutes=2),
        "state": Night.State.COMPLETE,
    }
    night = Night.objects.create(**made | how)
    for number, some in enumerate(_pieces([site.pk for site in sites], size), start=1):
        slice_of(night, number, some)
    return night


def night_under_way(done: Iterable[Site], running: Iterable[Site] = (), waiting: Iterable[Site] = ()) -> Night:
    """A night that was begun a minute ago, in a slice for each of the three."""
    night = night_of([], begun=timezone.now() - timedelta(minutes=1), state=Night.State.RUNNING, closed_at=None)
    for number, (state, sites) in enumerate(((State.DONE, done), (State.RUNNING, running), (State.WAITING, waiting))):
        slice_of(night, number + 1, [site.pk for site in sites], state=state)
    return night


def slice_of(night: Night, number: int, sites: list[int], **how: Any) -> NightSlice:
    """A slice of the night, all of whose sites were checked."""
    counts = {"checked": len(sites), "busy": 0, "failed": 0}
    times = {"started_at": night.started_at, "finished_at": night.closed_at or timezone.now()}
    made: dict[str, Any] = {"state": State.DONE, "attempts": 1, "counts": counts, **times}
    return NightSlice.objects.create(night=night, number=number, sites=sites, **made | how)


def letter_of(site: Site | None, **how: Any) -> DeadLetter:
    """A check that was given up, for an error of its own."""
    made: dict[str, Any] = {"task": "slice", "reason": Reason.ERROR, "error": "RecipeCycle: a dish holds itself"}
    return DeadLetter.objects.create(site=site, **made | how)


def failed_run(site: Site, at: datetime, error: str = "RecipeCycle: a dish holds itself", **how: Any) -> Run:
    """A check of the site that was begun then, and failed."""
    return run_of(site, at, state=Run.State.FAILED, error=error, **how)


def run_of(site: Site, at: datetime, **how: Any) -> Run:
    """A check of the site that was begun then, and came to its end."""
    day = at.astimezone(site.zone).date()
    made: dict[str, Any] = {"trigger": Run.Trigger.NIGHT, "state": Run.State.COMPLETE, "finished_at": at}
    run = Run.objects.create(site=site, as_of=at, first_day=day, last_day=day + timedelta(days=13), **made | how)
    Run.objects.filter(pk=run.pk).update(started_at=at)  # which is set as the row is written
    run.started_at = at
    return run


def _pieces(ids: list[int], size: int) -> list[list[int]]:
    return [ids[start : start + size] for start in range(0, len(ids), size)]
