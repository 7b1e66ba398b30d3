"""The night by several workers: how it is waited for, and that what they found is compared."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.benchmarks import queued as benchmark
from compliance.benchmarks.problem import CannotMeasure, Disagreement
from compliance.benchmarks.queued import queued
from compliance.benchmarks.workers import compared
from compliance.benchmarks.world.load import load_world
from compliance.benchmarks.world.size import Size
from compliance.models import Run, Verdict
from compliance.tasks import nightly


class Queue:
    """Stands for the queue: what is put in is done at once, or never."""

    def __init__(self, *, works: bool) -> None:
        self.works = works

    def delay(self, site: int) -> None:
        """Do it at once."""
        if self.works:
            nightly(site)


@pytest.mark.django_db
def test_every_site_is_queued_and_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """One complete run a site, and what they found is what is stored."""
    load_world(Size(750))
    monkeypatch.setattr(benchmark, "nightly", Queue(works=True))
    told = queued()
    assert told["runs"] == told["sites"] == Run.objects.complete().count() == 2
    assert sum(told["found"].values()) == Verdict.objects.count() > 0


@pytest.mark.django_db
def test_nobody_is_waited_for_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no worker takes anything out of the queue, and where a run fails."""
    load_world(Size(50))
    monkeypatch.setattr(benchmark, "nightly", Queue(works=False))
    with pytest.raises(CannotMeasure, match="0 of 1 sites were checked"):
        queued(patience=0.2)
    now = Run.objects.model._meta.get_field("as_of").clean("2026-11-25T02:00:00Z", None)
    site = benchmark.Site.objects.get()
    Run.objects.create(
        site=site, trigger="night", state="failed", as_of=now, first_day=now, last_day=now, error="OSError: disk full"
    )
    with pytest.raises(CannotMeasure, match="disk full"):
        queued(patience=0.2)


def test_two_workers_are_held_against_one() -> None:
    """As many times as fast; and no figure where they did not find the same."""
    one: dict[str, Any] = {"seconds": 10.0, "sites": 4, "runs": 4, "found": {"withhold": 7}}
    told = compared({1: one, 2: one | {"seconds": 5.5}})
    assert told["times_as_fast"] == {"1": 1.0, "2": 1.82}
    for wrong in ({"found": {"withhold": 6}}, {"runs": 5}):
        with pytest.raises(Disagreement, match="One worker found"):
            compared({1: one, 2: one | wrong})
