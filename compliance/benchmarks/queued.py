"""Nights put into the queue, and how long until the last slice of each has ended."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from compliance.benchmarks.problem import CannotMeasure
from compliance.checks.nights.queue import take
from compliance.checks.nights.start import start_by_hand
from compliance.models import Night, NightSlice, Run
from compliance.tasks import run_slice
from menus.models import Site

PATIENCE = 3_600
"""Seconds without one more slice ended after which nobody is waited for any longer."""
PAUSE = 0.02


def queued(most_sites: int | None = None, patience: float = PATIENCE) -> dict[str, Any]:
    """Queue two nights of these sites, one after the other, and return how long each took and what it found.

    The first finds nothing in place, and workers that have yet to load the lexicon; the second is of the day after, and
    is what a night usually is. Raises CannotMeasure when a site could not be checked, or when for so many seconds no
    slice came to its end.
    """
    sites = list(Site.objects.order_by("pk")[:most_sites])
    first = timezone.now().astimezone(sites[0].zone).date()
    return {
        "sites": len(sites),
        "first": _night(sites, first, patience),
        "night": _night(sites, first + timedelta(days=1), patience),
    }


def _night(sites: Sequence[Site], first: date, patience: float) -> dict[str, Any]:
    begun = time.monotonic()
    night = start_by_hand(sites, first)
    if night is None:
        raise CannotMeasure("There is no site to check.")
    for part in take(timezone.now()):
        run_slice.delay(part)
    _wait_for(night, patience)
    ended = time.monotonic() - begun
    runs = Run.objects.complete().filter(site__in=sites, first_day=first)
    if runs.count() != len(sites):
        raise CannotMeasure(f"{runs.count()} of {len(sites)} sites were checked: {_why(night)}")
    return {"seconds": round(ended, 2), "slices": night.slices.count(), "runs": len(sites), "found": _found(runs)}


def _wait_for(night: Night, patience: float) -> None:
    open_, since = night.slices.open().count(), time.monotonic()
    while open_:
        time.sleep(PAUSE)
        if (now_open := night.slices.open().count()) < open_:
            open_, since = now_open, time.monotonic()
        elif time.monotonic() - since > patience:
            raise CannotMeasure(f"{open_} slices were left, and then none ended for {patience:,.0f} seconds.")


def _why(night: Night) -> str:
    failed = night.slices.filter(state=NightSlice.State.FAILED).exclude(error="").values_list("error", flat=True)
    run = Run.objects.filter(state=Run.State.FAILED).values_list("error", flat=True)
    return "; ".join([*failed, *run][:3]) or "nobody says why."


def _found(runs: Iterable[Run]) -> dict[str, int]:
    """Return how many verdicts the runs found at each outcome."""
    found = Counter[str]()
    for run in runs:
        found.update(run.counts["verdicts"])
    return dict(sorted(found.items()))
