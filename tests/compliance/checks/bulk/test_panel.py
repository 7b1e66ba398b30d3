"""Restriction types judged together: the same for all sites, as far as that costs little."""

from __future__ import annotations

import pytest

from compliance.checks.bulk import panel
from compliance.checks.bulk.panel import widened
from compliance.checks.slices import check_sites
from compliance.models import DishVerdicts, Panel, Run, ServedDish
from compliance.rules.values import RestrictionType, Strictness
from menus.models import Site
from tests.factories import ClassroomFactory, EnrolmentFactory, RestrictionFactory, ServingFactory, cooked, labelled

pytestmark = pytest.mark.django_db
WHEAT = RestrictionType("wheat", Strictness.TRACE)


@pytest.fixture
def sites() -> list[Site]:
    """Two sites that serve one dish; the child of the first may not have milk, that of the second no egg."""
    pasta, made = cooked("pasta", labelled("durum wheat, milk")), []
    for substance in ("milk", "egg"):
        site = ClassroomFactory().site
        ServingFactory(site=site, recipe=pasta)
        EnrolmentFactory(child=RestrictionFactory(substance=substance).child, classroom=site.classrooms.get())
        made.append(site)
    return made


def night(sites: list[Site]) -> list[Run]:
    """Check the sites one after the other, as slices are."""
    return [run for site in sites for run in check_sites([site], trigger=Run.Trigger.NIGHT).runs]


def test_from_the_second_night_on_sites_share_a_row_of_verdicts(sites: list[Site]) -> None:
    """The first finds out what is held; what was found is the same on both."""
    first, second = night(sites), night(sites)
    assert first[0].panel_id != first[1].panel_id
    assert len({run.panel_id for run in second}) == 1
    assert [run.result_hash for run in second] == [run.result_hash for run in first]
    dish = set(ServedDish.objects.values_list("dish", flat=True))
    assert DishVerdicts.objects.filter(dish__in=dish, panel=second[0].panel_id).count() == 1


def test_what_nobody_here_needs_is_taken_along_in_measure(sites: list[Site], monkeypatch: pytest.MonkeyPatch) -> None:
    """A site of a few restrictions is not judged for those of thousands."""
    night(sites)
    assert [kind.substance for kind in widened([WHEAT])] == ["milk", "egg", "wheat"]
    monkeypatch.setattr(panel, "ROOM", 0)
    assert widened([WHEAT]) == [WHEAT]


def test_other_rules_begin_anew(sites: list[Site]) -> None:
    """What another edition was judged for says nothing of this one."""
    night(sites)
    Panel.objects.update(edition="another")
    assert widened([WHEAT]) == [WHEAT]
