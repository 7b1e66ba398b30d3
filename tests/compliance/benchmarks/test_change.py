"""The benchmark of a changed label, at a tiny size."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.benchmarks import change as benchmark
from compliance.benchmarks.change import change
from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.world.load import load_world
from compliance.benchmarks.world.size import Size
from compliance.models import Run

pytestmark = pytest.mark.django_db


def test_a_new_label_is_followed_to_every_site() -> None:
    """A rare product and a staple; what is added brings further exceptions, never fewer."""
    load_world(Size(300))
    figures = change(times=2)
    for kind in ("one_label", "staple"):
        told = figures[kind]
        assert told["sites_touched"] == figures["sites"] == 1
        assert told["exceptions"] == sorted(told["exceptions"])
        assert len(told["seconds_checked"]) == told["seconds_all_sites"]["times"] == 2
        assert told["seconds_all_sites"]["longest"] >= max(told["seconds_checked"])
    assert figures["one_label"]["share_of_recipes"] < 0.02
    assert 0.25 < figures["staple"]["share_of_recipes"] < 0.4
    assert Run.objects.complete().filter(trigger=Run.Trigger.CHANGE).count() == 4


def test_a_change_that_nobody_checks_again_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a recheck there are no figures."""
    load_world(Size(250))
    kept: list[Any] = []

    def once(**asked: Any) -> Run:
        if not kept:
            kept.append(real(**asked))
        return kept[0]

    real = benchmark.check_and_tell
    monkeypatch.setattr(benchmark, "check_and_tell", once)
    with pytest.raises(Disagreement, match="not checked again"):
        change(times=1)
