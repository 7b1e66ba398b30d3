"""The benchmark of the night, at a tiny size: every way must count the same, and the figures must hang together."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.benchmarks import nightly as benchmark
from compliance.benchmarks.nightly import nightly
from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.world.load import NotEmpty, load_world
from compliance.benchmarks.world.size import Size
from compliance.models import Run
from roster.models import Child, Restriction

pytestmark = pytest.mark.django_db


@pytest.fixture
def figures() -> dict[str, Any]:
    """Figures of two small sites, one of them with an order of work."""
    load_world(Size(750))
    return nightly()


def test_the_ways_count_the_same_exceptions(figures: dict[str, Any]) -> None:
    """The stored verdicts joined, the one query, all sites judged together, and the loop for its sample."""
    assert figures["counts"]["exceptions"] == figures["agreed"]["one query"] == figures["agreed"]["together"] > 0
    assert 0 < figures["agreed"]["loop"] <= figures["counts"]["loop pairs"] <= figures["counts"]["pairs"]


def test_the_figures_hang_together(figures: dict[str, Any]) -> None:
    """Parts are no longer than the whole, and every ratio is of two figures that are told."""
    seconds = figures["seconds"]
    assert figures["sites_checked"] == figures["sites"] == Run.objects.complete().count() == 2
    assert sum(seconds[part] for part in set(benchmark.STEPS) - {"judge"}) <= seconds["run"]
    assert figures["ratios"]["run to floor"] == pytest.approx(seconds["run"] / seconds["floor"], rel=0.2)
    assert figures["queries"]["run"] > figures["queries"]["load"] > 0
    assert figures["counts"]["verdicts"] <= figures["counts"]["dishes"] * figures["counts"]["types"]
    assert figures["counts"]["findings"] >= figures["counts"]["verdicts"]


def test_a_disagreement_is_told_instead_of_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the service loses an exception, there is no JSON to believe in."""
    load_world(Size(250))
    monkeypatch.setattr(benchmark, "found_exceptions", lambda asked: [])
    with pytest.raises(Disagreement, match="The service finds 0 exceptions"):
        nightly()


def test_a_site_without_a_restricted_child_has_figures_all_the_same() -> None:
    """Of nothing to judge there is nothing to reckon from, and no ratio."""
    assert load_world(Size(5))["restricted"] == 0
    figures = nightly()
    assert figures["agreed"] == {"loop": 0, "one query": 0, "together": 0, "day by day": 0}
    assert figures["ratios"]["loop to judge"] in (None, 0.0)


def test_the_district_is_the_same_every_time_and_as_restricted_as_said() -> None:
    """Eight in a hundred children, by the seed alone; into a database with sites nothing is written."""
    told = load_world(Size(250))
    assert told["children"] == Child.objects.count() == 250
    assert told["restricted"] == 20
    dealt = sorted(Restriction.objects.values_list("substance", flat=True))
    with pytest.raises(NotEmpty, match="an empty database only"):
        load_world(Size(250))
    assert sorted(Restriction.objects.values_list("substance", flat=True)) == dealt
