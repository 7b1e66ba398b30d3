"""Runs: what they find, what they name, and that the same facts give the same."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from compliance.checks.bulk.district import judge_sites
from compliance.checks.bulk.table import Table
from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.readby import read_by
from compliance.checks.run import SiteBusy, check_site, recompute
from compliance.models import DishVerdicts, PreparedDish, Run, ServedDish
from compliance.rules.values import Outcome
from menus.models import Serving
from menus.services.labels import record_label
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import (
    CycleMenuFactory,
    EnrolmentFactory,
    PlanStepFactory,
    RecipeFactory,
    RestrictionFactory,
    ServingFactory,
    SurfaceFactory,
)


def today() -> ExceptionFilter:
    day = timezone.now().date()
    return ExceptionFilter(day - timedelta(days=1), day + timedelta(days=14))


def found(rows: list[ExceptionRow]) -> set[tuple[str, str, str]]:
    """Exceptions as (child, dish, outcome)."""
    return {(row.child.given_name, row.dish, row.outcome.code) for row in rows}


EXPECTED = {
    ("Noor", "Peanut butter sandwich", "withhold"),
    ("Noor", "Oat bar", "withhold"),
    ("Mateo", "Peanut butter sandwich", "withhold"),
    ("Anneke", "Oat bar", "withhold"),
    ("Ifeoma", "Oat bar", "withhold"),
    ("Yusuf", "Ham and rice", "withhold"),
    ("Saoirse", "Ham and rice", "withhold"),
}


def test_each_child_meets_what_they_may_not_have_and_nothing_else(cast: Cast) -> None:
    """The table of the cast, both ways: what must fire does, what must not does not."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    assert found(find_exceptions(None, today())) == EXPECTED


def test_run_names_what_it_read(cast: Cast) -> None:
    """Label and recipe versions of the dishes served, and no others."""
    run = check_site(site=cast.tansy_gate, trigger=Run.Trigger.HAND)
    assert run.state == Run.State.COMPLETE
    used = read_by(run)
    assert used["labels"] == [cast.larder.yogurt.labels.get().pk]
    assert used["recipes"] == [cast.dishes.yogurt_cup.versions.get().pk]
    assert run.counts["servings"] == 1


def test_twice_changes_nothing(cast: Cast) -> None:
    """The second run points to the first and writes no verdicts."""
    first = check_site(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    before = (PreparedDish.objects.count(), DishVerdicts.objects.count(), ServedDish.objects.count())
    second = check_site(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    assert second.same_as == first
    assert (PreparedDish.objects.count(), DishVerdicts.objects.count(), ServedDish.objects.count()) == before
    assert found(find_exceptions(None, today())) == EXPECTED


def test_recomputed_months_later_to_the_same(cast: Cast) -> None:
    """Later labels and restrictions do not change what an old run found."""
    run = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    record_label(product=cast.larder.rice, ingredients="long grain rice, peanut flour", seen_on=timezone.now().date())
    record_restriction(child=cast.bao, substance="milk")
    assert recompute(run) == run.result_hash
    later = check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    assert later.result_hash != run.result_hash
    assert recompute(later) == later.result_hash
    assert recompute(run) == run.result_hash


def test_new_label_version_is_what_counts(cast: Cast) -> None:
    """A changed label changes the exceptions of the next run, and the old run's no longer stand."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    record_label(product=cast.larder.rice, ingredients="long grain rice, peanut flour", seen_on=timezone.now().date())
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    assert found(find_exceptions(None, today())) == EXPECTED | {("Mateo", "Ham and rice", "withhold")}


def test_facts_after_the_moment_are_not_read(cast: Cast) -> None:
    """A run as of a moment reads what was known then."""
    moment = timezone.now()
    record_label(product=cast.larder.rice, ingredients="long grain rice, peanut flour", seen_on=timezone.now().date())
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND, as_of=moment)
    assert found(find_exceptions(None, today())) == EXPECTED


def test_product_without_a_label_is_referred_for_everybody(cast: Cast) -> None:
    """Nothing known is not nothing there: every restricted child is referred, the others are not troubled."""
    serving = ServingFactory(site=cast.ferrowick, recipe=RecipeFactory(name="Surprise"))
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    rows = [row for row in find_exceptions(None, today()) if row.serving == serving]
    assert {row.outcome for row in rows} == {Outcome.REFER}
    assert {row.child.given_name for row in rows} == {
        "Noor", "Mateo", "Anneke", "Ifeoma", "Yusuf", "Saoirse", "Kofi",
    }  # fmt: skip


def test_stale_label_is_referred(cast: Cast) -> None:
    """A label read more than a year ago is no longer evidence of absence."""
    old = timezone.now().date() - timedelta(days=400)
    record_label(product=cast.larder.yogurt, ingredients="cultured whole milk, sugar", seen_on=old)
    check_site(site=cast.tansy_gate, trigger=Run.Trigger.HAND)
    assert ("Petra", "Yogurt cup", "refer") in found(find_exceptions(None, today()))


def test_carry_over_reaches_the_child(cast: Cast) -> None:
    """Ham and rice made on the board after the peanut sandwich is withheld from Mateo, with the chain."""
    board = SurfaceFactory(site=cast.ferrowick, name="Board 1")
    for at, recipe in (("08:00", cast.dishes.peanut_sandwich), ("08:30", cast.dishes.ham_and_rice)):
        PlanStepFactory(site=cast.ferrowick, surface=board, at=at, recipe=recipe)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    row = next(row for row in find_exceptions(None, today()) if (row.child, row.dish) == (cast.mateo, "Ham and rice"))
    assert row.main_reason.rule == "R04"
    assert [link.name for link in row.main_reason.chain][:2] == ["Peanut butter sandwich", "Peanut butter"]
    assert row.main_reason.chain[-1].name == "Board 1"


def test_withdrawn_serving_is_no_exception(cast: Cast) -> None:
    """A dish taken off the plan troubles nobody, at once."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    Serving.objects.filter(recipe=cast.dishes.oat_bar).update(withdrawn_at=timezone.now())
    assert "Oat bar" not in {row.dish for row in find_exceptions(None, today())}


def test_restriction_outside_its_dates_is_silent(cast: Cast) -> None:
    """A restriction that begins after the window has no exception in it."""
    RestrictionFactory(child=cast.bao, substance="peanut", starts_on=timezone.now().date() + timedelta(days=60))
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    assert found(find_exceptions(None, today())) == EXPECTED


def test_two_checks_of_one_site_at_once(cast: Cast) -> None:
    """The second is told so, and does nothing."""
    day = timezone.now().date()
    Run.objects.create(site=cast.ferrowick, trigger="hand", as_of=timezone.now(), first_day=day, last_day=day)
    with pytest.raises(SiteBusy, match="being checked at this moment"):
        check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)


def test_run_that_was_cut_off_gives_way(cast: Cast) -> None:
    """After its lease a dead run is marked failed, and the next one begins."""
    day = timezone.now().date()
    dead = Run.objects.create(site=cast.ferrowick, trigger="hand", as_of=timezone.now(), first_day=day, last_day=day)
    Run.objects.filter(pk=dead.pk).update(started_at=timezone.now() - timedelta(hours=2))
    assert check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND).state == Run.State.COMPLETE
    dead.refresh_from_db()
    assert dead.state == Run.State.FAILED
    assert "cut off" in dead.error


def test_failure_is_kept_and_raised(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """A run that fails says why, and leaves the earlier answers standing."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    record_restriction(child=cast.bao, substance="milk")

    def fail(*_: object) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr("compliance.checks.slices.store_verdicts", fail)
    with pytest.raises(RuntimeError):
        check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    failed = Run.objects.get(state=Run.State.FAILED)
    assert failed.error == "RuntimeError: the disk is full"
    assert {row for row in found(find_exceptions(None, today())) if row[0] != "Bao"} == EXPECTED


def test_a_check_never_takes_the_place_of_one_that_read_more(cast: Cast) -> None:
    """Asked for as of an earlier moment than the last one read, it says so and leaves what stands."""
    moment = timezone.now()
    record_label(product=cast.larder.rice, ingredients="long grain rice, peanut flour", seen_on=timezone.now().date())
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    with pytest.raises(SiteBusy, match="read later facts"):
        check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND, as_of=moment)
    assert ("Mateo", "Ham and rice", "withhold") in found(find_exceptions(None, today()))


def test_a_run_given_up_for_dead_stores_nothing(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """It slept past its lease, another took its place and read more: what it then finds is old."""

    def slow(*args: Any) -> Table:
        table = judge_sites(*args)
        monkeypatch.setattr("compliance.checks.slices.judge_sites", judge_sites)
        Run.objects.update(started_at=timezone.now() - timedelta(hours=2))
        record_label(product=cast.larder.rice, ingredients="rice, peanut flour", seen_on=timezone.now().date())
        check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
        return table

    monkeypatch.setattr("compliance.checks.slices.judge_sites", slow)
    with pytest.raises(SiteBusy):
        check_site(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    assert ("Mateo", "Ham and rice", "withhold") in found(find_exceptions(None, today()))
    assert set(Run.objects.values_list("trigger", "state")) == {("night", "failed"), ("change", "complete")}


def test_days_gone_by_are_not_planned_again(cast: Cast) -> None:
    """What was served stays on record as it was planned, whatever the cycle says by now."""
    yesterday = timezone.now().date() - timedelta(days=1)
    cycle = CycleMenuFactory(site=cast.ferrowick, starts_on=yesterday - timedelta(days=yesterday.weekday() + 7))
    served = ServingFactory(site=cast.ferrowick, date=yesterday, recipe=cast.dishes.oat_bar, cycle=cycle)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND, first_day=yesterday)
    served.refresh_from_db()
    assert served.withdrawn_at is None


def test_a_restriction_that_no_run_has_read_is_referred(cast: Cast) -> None:
    """Between the word that Bao may not have milk and the next check nobody may think that nothing was found."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    record_restriction(child=cast.bao, substance="milk")
    waiting = found(find_exceptions(None, today())) - EXPECTED
    assert waiting == {("Bao", serving.recipe.name, "refer") for serving in cast.servings[:3]}
    check_site(site=cast.ferrowick, trigger=Run.Trigger.CHANGE)
    assert found(find_exceptions(None, today())) == EXPECTED | {("Bao", "Oat bar", "withhold")}


def test_a_child_who_comes_after_the_run_is_referred(cast: Cast) -> None:
    """Ravi comes over from the daycare with a restriction that this site's check has never read."""
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND)
    day = timezone.now().date()
    cast.ravi.enrolments.update(ends_on=day - timedelta(days=1))
    EnrolmentFactory(child=cast.ravi, classroom=cast.larks, starts_on=day)
    assert {row[2] for row in found(find_exceptions(None, today())) if row[0] == "Ravi"} == {"refer"}


def test_what_was_served_is_not_referred_afterwards(cast: Cast) -> None:
    """A restriction recorded today says nothing of what was checked and eaten last week."""
    day = timezone.now().date() - timedelta(days=7)
    ServingFactory(site=cast.ferrowick, date=day, recipe=cast.dishes.oat_bar)
    check_site(site=cast.ferrowick, trigger=Run.Trigger.HAND, first_day=day, days=1)
    record_restriction(child=cast.bao, substance="peanut")
    rows = find_exceptions(None, ExceptionFilter(day, day))
    assert rows
    assert "Bao" not in {row.child.given_name for row in rows}
