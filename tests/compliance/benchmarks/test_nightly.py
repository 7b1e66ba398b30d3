"""The benchmark of the night, at a tiny size: every way must count the same, and the figures must hang together."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.db.models import F

from compliance.benchmarks import nightly as benchmark
from compliance.benchmarks import pages
from compliance.benchmarks.nightly import nightly
from compliance.benchmarks.problem import CannotMeasure, Disagreement
from compliance.benchmarks.world.load import NotEmpty, load_world
from compliance.benchmarks.world.size import Size
from compliance.checks import slices
from compliance.models import Run
from roster.models import Child, Restriction

pytestmark = pytest.mark.django_db


@pytest.fixture
def figures() -> dict[str, Any]:
    """Figures of two small sites, one of them with an order of work."""
    load_world(Size(750))
    return nightly()


def test_the_ways_count_the_same_exceptions(figures: dict[str, Any]) -> None:
    """Joined from the codes, read back from the stored verdicts, by the one query, and by the loop for its sample."""
    agreed, counts = figures["agreed"], figures["counts"]
    assert counts["exceptions"] == agreed["one query"] == agreed["stored verdicts"] > 0
    assert 0 < agreed["loop"] <= counts["loop pairs"] <= counts["pairs"]


def test_the_figures_hang_together(figures: dict[str, Any]) -> None:
    """Parts are no longer than the whole, and every ratio is of two figures that are told."""
    seconds = figures["seconds"]
    assert figures["sites_checked"] == figures["sites"] == 2 and Run.objects.complete().count() == 4
    for night in (seconds, figures["first_night"]):
        assert sum(night[part] for part in set(benchmark.STEPS) - {"judge"}) <= night["run"]
        assert 0 < night["judge"] <= night["evaluate"]
    assert seconds["table"] == pytest.approx(
        figures["first_night"]["judge"] + figures["first_night"]["verdicts"], abs=0.001
    )
    assert figures["ratios"]["run to floor"] == pytest.approx(seconds["run"] / seconds["floor"], rel=0.2)
    assert figures["queries"]["run"] > figures["queries"]["evaluate"] > 0
    assert 0 < figures["counts"]["verdicts"] <= figures["counts"]["dishes"] * figures["counts"]["types"]
    assert figures["page_p95_ms"]["class"] < figures["page_p95_ms"]["day"]


def test_a_disagreement_is_told_instead_of_figures(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the service loses an exception, there is no JSON to believe in: neither on the whole nor on a page."""
    load_world(Size(250))
    with monkeypatch.context() as lost:
        lost.setattr(benchmark, "found_exceptions", lambda asked: [])
        with pytest.raises(Disagreement, match="and the stored verdicts 0"):
            nightly()
    Run.objects.update(as_of=F("as_of") - timedelta(days=2))
    monkeypatch.setattr(benchmark, "read_days", lambda run, reader, watch: 0)
    with pytest.raises(Disagreement, match="and the pages 0"):
        nightly()


def test_a_site_that_cannot_be_checked_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """A night that leaves somebody out is no night to measure."""
    load_world(Size(50))

    def broken(*_: Any) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(slices, "store_verdicts", broken)
    with pytest.raises(CannotMeasure, match="disk full"):
        nightly()


def test_a_class_shows_what_its_site_shows_of_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A page that leaves out a class is found."""
    load_world(Size(250))
    real = pages.find_exceptions
    monkeypatch.setattr(pages, "find_exceptions", lambda user, asked: [] if asked.classroom else real(user, asked))
    with pytest.raises(Disagreement, match="does not show what the site's page does"):
        nightly()


def test_a_site_without_a_restricted_child_has_figures_all_the_same() -> None:
    """Of nothing to judge there is nothing to reckon from, and no ratio."""
    assert load_world(Size(5))["restricted"] == 0
    figures = nightly()
    assert figures["agreed"] == {"loop": 0, "one query": 0, "stored verdicts": 0, "pages": 0}
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
