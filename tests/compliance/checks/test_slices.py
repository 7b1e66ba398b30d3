"""Many sites checked together: each comes to what it would alone, and one that cannot be checked keeps no other."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone

from compliance.checks.bulk.codes import atoms, rule_of
from compliance.checks.bulk.sparse import unpacked
from compliance.checks.explain import pieces_of, reasons_of, type_of
from compliance.checks.run import check_site, recompute
from compliance.checks.slices import check_sites
from compliance.models import CheckedDay, DishVerdicts, RestrictionTypeRow, Run, ServedDish
from compliance.rules.judge import judge
from menus.models import RecipeLine, Site
from menus.substances.combinations import combinations
from roster.models import Verb
from roster.models.action import Action
from roster.record.verify import faults
from tests.cast import Cast
from tests.factories import (
    ClassroomFactory,
    EnrolmentFactory,
    PlanStepFactory,
    RecipeFactory,
    RecipeVersionFactory,
    RestrictionFactory,
    ServingFactory,
    SurfaceFactory,
    cooked,
    labelled,
)

NIGHT = Run.Trigger.NIGHT


@pytest.fixture
def sites(cast: Cast) -> list[Site]:
    """Both sites of the cast."""
    return [cast.ferrowick, cast.tansy_gate]


def test_together_each_site_comes_to_what_it_comes_to_alone(cast: Cast, sites: list[Site]) -> None:
    """The same fingerprints, and worked out again from the versions read they are the same once more."""
    checked = check_sites(sites, trigger=NIGHT)
    assert [run.site for run in checked.runs] == sites
    assert not checked.busy and not checked.failed
    for run in checked.runs:
        assert run.state == Run.State.COMPLETE and recompute(run) == run.result_hash
        assert check_site(site=run.site, trigger=Run.Trigger.HAND).result_hash == run.result_hash


def test_each_day_of_the_window_is_spoken_for_once(cast: Cast, sites: list[Site]) -> None:
    """By the newest run; and each planned serving meets one dish."""
    check_sites(sites, trigger=NIGHT, days=3)
    newest = {run.site_id: run.pk for run in check_sites(sites, trigger=NIGHT, days=3).runs}
    days = CheckedDay.objects.values_list("site", "day", "run")
    today = timezone.now().date()
    assert set(days) == {(site, today + timedelta(days=n), run) for site, run in newest.items() for n in range(3)}
    assert ServedDish.objects.filter(serving__date=today).count() == sum(each.date == today for each in cast.servings)


def test_the_checks_are_on_record_one_by_one(cast: Cast, sites: list[Site]) -> None:
    """An entry in each site's chain, and the chains hold."""
    runs = check_sites(sites, trigger=NIGHT).runs
    entries = Action.objects.filter(verb=Verb.CHECKED)
    assert {entry.site_id: json.loads(entry.payload)["said"]["result"] for entry in entries} == {
        run.site_id: run.result_hash for run in runs
    }
    assert not list(faults())


def test_a_site_that_cannot_be_checked_fails_alone(cast: Cast, sites: list[Site]) -> None:
    """A recipe that holds itself, which no page lets anybody record, is served at one site."""
    snake = RecipeFactory(name="Snake")
    RecipeLine.objects.create(version=RecipeVersionFactory(recipe=snake), position=1, sub_recipe=snake, quantity=1)
    ServingFactory(site=cast.tansy_gate, recipe=snake)
    checked = check_sites(sites, trigger=NIGHT)
    assert [run.site for run in checked.runs] == [cast.ferrowick]
    ((failed, error),) = checked.failed
    failed.refresh_from_db()
    assert (failed.site, failed.state) == (cast.tansy_gate, Run.State.FAILED)
    assert str(error) == "A recipe holds itself: Snake → Snake." and failed.error.endswith(str(error))


def test_a_site_that_somebody_else_checks_is_left_to_them(cast: Cast, sites: list[Site]) -> None:
    """And named, with the reason."""
    day = timezone.now().date()
    Run.objects.create(site=cast.ferrowick, trigger="hand", as_of=timezone.now(), first_day=day, last_day=day)
    checked = check_sites(sites, trigger=NIGHT)
    assert [run.site for run in checked.runs] == [cast.tansy_gate]
    assert list(checked.busy) == [cast.ferrowick]


def test_a_database_that_goes_away_leaves_nothing_behind(
    cast: Cast, sites: list[Site], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The error is raised, for the same may be tried again; the runs are given up, so nobody is kept waiting."""

    def gone(*_: object) -> None:
        raise OperationalError("server closed the connection unexpectedly")

    with monkeypatch.context() as patched:
        patched.setattr("compliance.checks.slices.store_verdicts", gone)
        with pytest.raises(OperationalError):
            check_sites(sites, trigger=NIGHT)
    assert set(Run.objects.values_list("state", flat=True)) == {Run.State.FAILED}
    assert not ServedDish.objects.exists()
    assert len(check_sites(sites, trigger=NIGHT).runs) == 2


def test_sites_of_different_zones_begin_with_their_own_day(cast: Cast, sites: list[Site]) -> None:
    """When it is Sunday at one and still Saturday at the other."""
    at = timezone.now().replace(hour=23, minute=30)
    Site.objects.filter(pk=cast.ferrowick.pk).update(time_zone="Pacific/Auckland")
    Site.objects.filter(pk=cast.tansy_gate.pk).update(time_zone="America/Chicago")
    runs = check_sites(list(Site.objects.order_by("pk")), trigger=NIGHT, as_of=at).runs
    begun = {run.site_id: run.first_day for run in runs}
    assert begun == {cast.ferrowick.pk: at.date() + timedelta(days=1), cast.tansy_gate.pk: at.date()}


@pytest.mark.parametrize("own", [False, True])
def test_a_dish_of_which_the_labels_name_nothing_is_no_dish_without_lines(cast: Cast, own: bool) -> None:
    """Lettuce is no substance that anybody looks for; the labels were read, so that nothing is unknown."""
    site = ClassroomFactory().site
    EnrolmentFactory(child=RestrictionFactory(substance="milk").child, classroom=site.classrooms.get())
    ServingFactory(site=site, recipe=cooked("salad", labelled("lettuce, water, salt")))
    if own:
        PlanStepFactory(surface=SurfaceFactory(site=site), recipe=cooked("soup", labelled("rice")))
    run = check_site(site=site, trigger=NIGHT)
    assert run.counts["verdicts"] == {"withhold": 0, "refer": 0, "none-found": 0}
    assert recompute(run) == run.result_hash


def test_a_stored_verdict_points_to_what_said_so(cast: Cast, sites: list[Site]) -> None:
    """Its rule is that of the first reason, and by itself the piece it points at brings up the same."""
    check_sites(sites, trigger=NIGHT)
    seen = 0
    for stored in DishVerdicts.objects.select_related("dish"):
        pieces = pieces_of(stored.dish)
        kinds, codes = unpacked(bytes(stored.codes))
        for kind, code, place in zip(kinds.tolist(), codes, atoms(codes).tolist(), strict=True):
            row = RestrictionTypeRow.objects.get(pk=kind)
            said = reasons_of(stored.dish, row)
            assert rule_of(code) == said[0].rule
            assert (place == 0) is (row.substance in combinations())  # of which no single piece says so
            if place:
                alone = judge(type_of(row), (pieces[place - 1],))
                assert alone.findings[0].rule == said[0].rule
                seen += 1
    assert seen
