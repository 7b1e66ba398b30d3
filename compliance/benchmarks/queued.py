"""The night of all sites put into the queue, and how long until its last run is complete."""

from __future__ import annotations

import time
from collections import Counter
from typing import Any

from compliance.benchmarks.problem import CannotMeasure
from compliance.models import Run
from compliance.tasks import nightly
from menus.models import Site

PATIENCE = 3_600
"""Seconds without one more complete run after which nobody is waited for any longer."""
PAUSE = 0.05


def queued(most_sites: int | None = None, patience: float = PATIENCE) -> dict[str, Any]:
    """Queue the nightly check of these sites and return the seconds until all are complete, and what they found.

    Raises CannotMeasure when a run failed, or when for so many seconds none came to its end.
    """
    sites = list(Site.objects.order_by("pk").values_list("pk", flat=True)[:most_sites])
    runs = Run.objects.filter(site__in=sites)
    begun = time.monotonic()
    for site in sites:
        nightly.delay(site)
    done, since = 0, begun
    while done < len(sites):
        if failed := runs.filter(state=Run.State.FAILED).first():
            raise CannotMeasure(f"{failed} failed: {failed.error}")
        if (now_done := runs.complete().count()) > done:
            done, since = now_done, time.monotonic()
        elif time.monotonic() - since > patience:
            raise CannotMeasure(
                f"{done} of {len(sites)} sites were checked, and then none for {patience:,.0f} seconds."
            )
        time.sleep(PAUSE)
    return {"seconds": round(time.monotonic() - begun, 2), "sites": len(sites), "runs": done, "found": _found(sites)}


def _found(sites: list[int]) -> dict[str, int]:
    """Return how many verdicts stand at each outcome."""
    found = Counter[str]()
    for run in Run.objects.complete().filter(site__in=sites):
        found.update(run.counts["verdicts"])
    return dict(sorted(found.items()))
