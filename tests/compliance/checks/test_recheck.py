"""A new fact has the sites that it bears on checked again, and no others."""

from __future__ import annotations

from datetime import timedelta

import pytest
from celery.exceptions import Retry
from django.db import connection, transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from compliance.checks.coverage import coverage
from compliance.checks.night import check_and_tell
from compliance.checks.schedule import missed
from compliance.models import Run
from compliance.tasks import catch_up, recheck
from menus.models import Product, Site
from menus.services.labels import record_label
from roster.enrolling import enrol
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import (
    ChildFactory,
    CycleEntryFactory,
    CycleMenuFactory,
    EnrolmentFactory,
    LabelFactory,
    ProductFactory,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def queued(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> list[tuple[int, str]]:
    """What was put on the queue: site and moment of the change."""
    connection.run_on_commit.clear()  # what the cast's own facts left waiting
    calls: list[tuple[int, str]] = []
    monkeypatch.setattr(recheck, "delay", lambda *arguments: calls.append(arguments))
    return calls


def sites(queued: list[tuple[int, str]]) -> list[Site]:
    """Return the sites on the queue."""
    return [Site.objects.get(pk=pk) for pk, _ in queued]


def test_a_restriction_concerns_the_sites_of_the_child(
    cast: Cast, queued: list[tuple[int, str]], django_capture_on_commit_callbacks
) -> None:
    """Bao is at Ferrowick only."""
    with django_capture_on_commit_callbacks(execute=True):
        record_restriction(child=cast.bao, substance="peanut")
    assert sites(queued) == [cast.ferrowick]


def test_an_enrolment_concerns_the_site_of_the_classroom(
    cast: Cast, queued: list[tuple[int, str]], django_capture_on_commit_callbacks
) -> None:
    """A new child comes to Tansy Gate."""
    with django_capture_on_commit_callbacks(execute=True):
        enrol(child=ChildFactory(), classroom=cast.minnows, starts_on=timezone.localdate())
    assert sites(queued) == [cast.tansy_gate]


def test_a_label_may_concern_any_site(
    cast: Cast, queued: list[tuple[int, str]], django_capture_on_commit_callbacks
) -> None:
    """Products belong to no site."""
    with django_capture_on_commit_callbacks(execute=True):
        record_label(product=cast.larder.rice, ingredients="rice, milk powder", seen_on=timezone.localdate())
    assert set(sites(queued)) == {cast.ferrowick, cast.tansy_gate}


def test_a_treat_concerns_no_menu(
    cast: Cast, queued: list[tuple[int, str]], django_capture_on_commit_callbacks
) -> None:
    """A label that a teacher pasted stands in no recipe."""
    treat = ProductFactory(origin=Product.Origin.CLASSROOM)
    with django_capture_on_commit_callbacks(execute=True):
        record_label(product=treat, ingredients="sugar", seen_on=timezone.localdate())
    assert queued == []


def test_many_facts_in_one_transaction_queue_a_site_once(
    cast: Cast, queued: list[tuple[int, str]], django_capture_on_commit_callbacks
) -> None:
    """As an import records them; one that is rolled back takes nothing of the others with it."""
    with django_capture_on_commit_callbacks(execute=True):
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            record_restriction(child=cast.bao, substance="peanut")
            raise ZeroDivisionError
        for substance in ("milk", "egg", "soy"):
            record_restriction(child=cast.bao, substance=substance)
    assert sites(queued) == [cast.ferrowick]


def test_nothing_is_queued_before_the_fact_is_saved(cast: Cast, queued: list[tuple[int, str]]) -> None:
    """A worker must not look for a row that may yet be rolled back."""
    record_restriction(child=cast.bao, substance="peanut")
    assert queued == []


def test_a_broker_that_is_away_loses_no_fact(
    cast: Cast,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    django_capture_on_commit_callbacks,
) -> None:
    """The page that recorded it answers as ever; the log says what happened."""

    def away(*_: object) -> None:
        raise OperationalError("connection refused")

    monkeypatch.setattr(recheck, "delay", away)
    connection.run_on_commit.clear()  # what the cast's own facts left waiting
    with django_capture_on_commit_callbacks(execute=True):
        restriction = record_restriction(child=cast.bao, substance="peanut")

    restriction.refresh_from_db()
    assert "connection refused" in caplog.text


def test_the_change_is_found_at_once(cast: Cast) -> None:
    """Bao may not have peanut since a moment ago, and the sandwich is for lunch."""
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    changed_at = timezone.now()
    record_restriction(child=cast.bao, substance="peanut")

    recheck(cast.ferrowick.pk, changed_at.isoformat())

    run = Run.objects.newest_for(cast.ferrowick)
    assert run
    assert run.trigger == Run.Trigger.CHANGE
    assert run.counts["digest"]["changed"] == 1


def test_one_check_serves_many_changes(cast: Cast) -> None:
    """An import of a hundred labels is no hundred checks."""
    before = (timezone.now() - timedelta(seconds=1)).isoformat()
    for _ in range(3):
        recheck(cast.ferrowick.pk, before)
    assert Run.objects.count() == 1


def test_a_check_of_days_further_ahead_serves_no_change(cast: Cast) -> None:
    """It is newer than the change, and has not looked at today's lunch."""
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    changed_at = timezone.now()
    record_restriction(child=cast.bao, substance="peanut")
    ahead = timezone.localdate() + timedelta(days=30)
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND, first_day=ahead)

    recheck(cast.ferrowick.pk, changed_at.isoformat())

    assert Run.objects.filter(trigger=Run.Trigger.CHANGE).exists()


def test_a_check_of_days_further_ahead_makes_today_s_no_fresher(cast: Cast) -> None:
    """What is shown as of is the moment at which somebody looked at today."""
    night = check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    today = timezone.localdate()
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND, first_day=today + timedelta(days=30))
    assert [each.run for each in coverage([cast.ferrowick], today, today + timedelta(days=40))] == [night]
    assert not missed(cast.ferrowick, timezone.now())
    night.delete()
    assert coverage([cast.ferrowick], today, today)[0].run is None
    assert missed(cast.ferrowick, timezone.now())


def test_a_change_while_the_site_is_busy_comes_back(cast: Cast) -> None:
    """The check under way may have begun before the change: it must not be lost."""
    today = timezone.localdate()
    Run.objects.create(site=cast.ferrowick, trigger="night", as_of=timezone.now(), first_day=today, last_day=today)
    with pytest.raises(Retry):
        recheck.apply(args=(cast.ferrowick.pk, timezone.now().isoformat()), throw=True, retries=0).get()


class TestUnread:
    """Changes whose message never arrived, found every few minutes."""

    @pytest.fixture(autouse=True)
    def _checked(self, cast: Cast) -> None:
        for site in (cast.ferrowick, cast.tansy_gate):
            check_and_tell(site=site, trigger=Run.Trigger.NIGHT)

    def test_nothing_new(self, queued: list[tuple[int, str]]) -> None:
        """Nothing is checked for nothing."""
        catch_up()
        assert queued == []

    def test_a_label_recorded_by_a_command(self, cast: Cast, queued: list[tuple[int, str]]) -> None:
        """It concerns the site that serves it, and no longer once that has been checked."""
        record_label(product=cast.larder.rice, ingredients="rice, milk powder", seen_on=timezone.localdate())
        catch_up()
        assert sites(queued) == [cast.ferrowick]

        for pk, changed_at in queued.copy():
            recheck(pk, changed_at)
        queued.clear()
        catch_up()
        assert queued == []

    def test_a_restriction_of_one_child(self, cast: Cast, queued: list[tuple[int, str]]) -> None:
        """It concerns the site of the child."""
        record_restriction(child=cast.petra, substance="peanut")
        catch_up()
        assert sites(queued) == [cast.tansy_gate]

    def test_a_label_that_a_teacher_pasted(self, queued: list[tuple[int, str]]) -> None:
        """It stands in no recipe."""
        treat = ProductFactory(origin=Product.Origin.CLASSROOM)
        record_label(product=treat, ingredients="sugar", seen_on=timezone.localdate())
        catch_up()
        assert queued == []

    def test_a_child_who_moves_here(self, cast: Cast, queued: list[tuple[int, str]]) -> None:
        """The restriction is old, and this site has never read it."""
        cast.mateo.enrolments.update(ends_on=timezone.localdate() - timedelta(days=1))
        EnrolmentFactory(child=cast.mateo, classroom=cast.minnows, starts_on=timezone.localdate())
        catch_up()
        assert cast.tansy_gate in sites(queued)

    def test_a_fact_of_an_import_that_took_long(self, cast: Cast, queued: list[tuple[int, str]]) -> None:
        """Recorded before the check and saved after it, so that the check cannot have read it."""
        LabelFactory(
            product=cast.larder.yogurt, ingredients="milk, egg", recorded_at=timezone.now() - timedelta(minutes=5)
        )
        catch_up()
        assert sites(queued) == [cast.tansy_gate]

    def test_a_cycle_that_calls_for_another_dish(self, cast: Cast, queued: list[tuple[int, str]]) -> None:
        """What will be cooked is not what was checked."""
        cycle = CycleMenuFactory(site=cast.ferrowick)
        for weekday in range(7):
            CycleEntryFactory(cycle=cycle, weekday=weekday, recipe=cast.dishes.yogurt_cup)
        catch_up()
        assert sites(queued) == [cast.ferrowick]
