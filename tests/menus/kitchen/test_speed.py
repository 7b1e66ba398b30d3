"""The benchmark's own parts: the days it makes, the two ways that must agree, what it prints."""

from __future__ import annotations

import pytest
from django.core.management import call_command

from menus.kitchen.speed import Timing, made_day, one_at_a_time, timings
from menus.management import speed


def test_made_days_are_the_same_on_every_run() -> None:
    """So many events, in the order of time and no two together."""
    day = made_day(200)
    assert day == made_day(200)
    times = [event.at for event in day.events]
    assert times == sorted(set(times)) and len(times) == 200


def test_both_ways_find_something_and_the_same() -> None:
    """`timings` itself refuses to time two ways that disagree."""
    assert any(one_at_a_time(made_day(200)).values())
    (timing,) = timings([200])
    assert timing.events == 200 and timing.chains > 0


def test_the_command_prints_growth(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Seconds, microseconds for an event, how many times the day before, and how many times the plain way takes."""
    told = [Timing(10, 0.001, 0.002, 3, 0.001), Timing(1_000, 0.1, 0.4, 30, 0.01)]
    monkeypatch.setattr(speed, "timings", lambda days: iter(told))
    call_command("benchmark", "carryover")
    last = capsys.readouterr().out.splitlines()[-1].split()
    assert last == ["1,000", "0.1000", "100.0", "x100.0", "0.4000", "4.0", "30", "0.0100"]
