"""The benchmark of a changed label, at a tiny size."""

from __future__ import annotations

import pytest

from compliance.benchmarks import change as benchmark
from compliance.benchmarks.change import change
from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.world.load import load_world
from compliance.benchmarks.world.size import Size
from compliance.checks.slices import Checked
from compliance.models import Run

pytestmark = pytest.mark.django_db(transaction=True)
"""What is noted of a change is noted once a transaction, and read when that is through."""


def test_a_new_label_is_followed_to_every_site() -> None:
    """A rare product and a staple; what is added brings further exceptions, never fewer."""
    load_world(Size(300))
    figures = change(times=2)
    for kind in ("one_label", "staple"):
        told = figures[kind]
        assert told["sites_touched"] == [figures["sites"]] * 2 == [1, 1]
        assert told["median"] <= told["longest"] == max(told["seconds"]) and told["p95"] is None
        assert all(part < whole for part, whole in zip(told["seconds_recording"], told["seconds"], strict=True))
    assert figures["one_label"]["shares_of_recipes"][0] < 0.02
    assert 0.25 < figures["staple"]["shares_of_recipes"][0] < 0.4
    assert Run.objects.complete().filter(trigger=Run.Trigger.CHANGE).count() == 4


def test_a_change_that_nobody_checks_again_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a recheck there are no figures; nor where it finds what stood before."""
    load_world(Size(250))
    with monkeypatch.context() as nobody:
        nobody.setattr(benchmark, "check_changes", Checked)
        with pytest.raises(Disagreement, match="1 of 1 sites were not checked again"):
            change(times=1)
    monkeypatch.setattr(benchmark, "_standing", lambda sites: {})
    with pytest.raises(Disagreement, match="Nothing came of new labels"):
        change(times=1)
