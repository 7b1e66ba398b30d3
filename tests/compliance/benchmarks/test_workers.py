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
from compliance.models import NightSlice, Run
from compliance.tasks import run_slice


class Queue:
    """Stands for the queue: what is put in is done at once, or never."""

    def __init__(self, *, works: bool) -> None:
        self.works = works

    def delay(self, part: int) -> None:
        """Do it at once."""
        if self.works:
            run_slice(part)


@pytest.mark.django_db
def test_two_nights_are_queued_and_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A complete run a site and night, of today and of tomorrow; the second finds something in place."""
    load_world(Size(750))
    monkeypatch.setattr(benchmark, "run_slice", Queue(works=True))
    told = queued()
    assert told["sites"] == told["first"]["runs"] == told["night"]["runs"] == 2
    days = sorted(set(Run.objects.complete().values_list("first_day", flat=True)))
    assert len(days) == 2 and Run.objects.complete().count() == 4
    assert told["first"]["found"]["withhold"] > 0


@pytest.mark.django_db
def test_nobody_is_waited_for_for_ever(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no worker takes anything out of the queue, and where a slice fails."""
    load_world(Size(50))
    monkeypatch.setattr(benchmark, "run_slice", Queue(works=False))
    with pytest.raises(CannotMeasure, match="1 slices were left"):
        queued(patience=0.2)

    class Fails(Queue):
        def delay(self, part: int) -> None:
            NightSlice.objects.filter(pk=part).update(state=NightSlice.State.FAILED, error="OSError: disk full")

    monkeypatch.setattr(benchmark, "run_slice", Fails(works=False))
    with pytest.raises(CannotMeasure, match="0 of 1 sites were checked: OSError: disk full"):
        queued(patience=0.2)


def test_two_workers_are_held_against_one() -> None:
    """As many times as fast; and no figure where they did not find the same."""
    night = {"seconds": 10.0, "runs": 4, "found": {"withhold": 7}}
    one: dict[str, Any] = {"sites": 4, "first": night | {"seconds": 30.0}, "night": night}
    two = {"sites": 4, "first": night | {"seconds": 20.0}, "night": night | {"seconds": 5.5}}
    told = compared({1: one, 2: two})
    assert told["times_as_fast"] == {"first": {"1": 1.0, "2": 1.5}, "night": {"1": 1.0, "2": 1.82}}
    for wrong in ({"found": {"withhold": 6}}, {"runs": 5}):
        with pytest.raises(Disagreement, match="1 found"):
            compared({1: one, 2: two | {"night": night | wrong}})
