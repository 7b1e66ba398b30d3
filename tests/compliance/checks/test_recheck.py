"""A new fact has the sites that it bears on checked again, and no others."""

from __future__ import annotations

from datetime import timedelta

import pytest
from celery.exceptions import Retry
from django.db import connection, transaction
from django.utils import timezone
from kombu.exceptions import OperationalError

from compliance.checks.changes import check_changes
from compliance.checks.coverage import coverage
from compliance.checks.night import check_and_tell
from compliance.checks.schedule import missed
from compliance.models import DeadLetter, Run, UnreadChange
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
def sent(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """The messages put on the queue."""
    connection.run_on_commit.clear()  # what the cast's own facts left waiting
    UnreadChange.objects.all().delete()
    messages: list[object] = []
    monkeypatch.setattr(recheck, "delay", lambda *arguments: messages.append(arguments))
    return messages


def noted() -> list[Site | Product | None]:
    """What is noted as changed."""
    return [note.site or note.product for note in UnreadChange.objects.all()]


def test_a_restriction_concerns_the_sites_of_the_child(
    cast: Cast, sent: list[object], django_capture_on_commit_callbacks
) -> None:
    """Bao is at Ferrowick only."""
    with django_capture_on_commit_callbacks(execute=True):
        record_restriction(child=cast.bao, substance="peanut")
    assert noted() == [cast.ferrowick]
    assert sent == [()]


def test_an_enrolment_concerns_the_site_of_the_classroom(
    cast: Cast, sent: list[object], django_capture_on_commit_callbacks
) -> None:
    """A new child comes to Tansy Gate."""
    with django_capture_on_commit_callbacks(execute=True):
        enrol(child=ChildFactory(), classroom=cast.minnows, starts_on=timezone.localdate())
    assert noted() == [cast.tansy_gate]


def test_of_a_label_its_product_is_noted(cast: Cast, sent: list[object], django_capture_on_commit_callbacks) -> None:
    """Which sites serve it is found when the note is read: the menu may change meanwhile."""
    with django_capture_on_commit_callbacks(execute=True):
        record_label(product=cast.larder.rice, ingredients="rice, milk powder", seen_on=timezone.localdate())
    assert noted() == [cast.larder.rice]
    assert sent == [()]


def test_many_facts_in_one_transaction_are_one_message(
    cast: Cast, sent: list[object], django_capture_on_commit_callbacks
) -> None:
    """As an import records them; one that is rolled back takes nothing of the others with it."""
    with django_capture_on_commit_callbacks(execute=True):
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            record_restriction(child=cast.bao, substance="peanut")
            raise ZeroDivisionError
        assert noted() == []
        for substance in ("milk", "egg", "soy"):
            record_restriction(child=cast.bao, substance=substance)
        record_label(product=cast.larder.rice, ingredients="rice", seen_on=timezone.localdate())
    assert noted() == [cast.ferrowick, cast.larder.rice]
    assert sent == [()]


def test_no_message_goes_out_before_the_fact_is_saved(cast: Cast, sent: list[object]) -> None:
    """A worker must not look for a row that may yet be rolled back."""
    record_restriction(child=cast.bao, substance="peanut")
    assert sent == []


def test_a_broker_that_is_away_loses_no_fact(
    cast: Cast,
    sent: list[object],
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
    django_capture_on_commit_callbacks,
) -> None:
    """The page that recorded it answers as ever; the log says what happened, and the note stays."""

    def away(*_: object) -> None:
        raise OperationalError("connection refused")

    monkeypatch.setattr(recheck, "delay", away)
    with django_capture_on_commit_callbacks(execute=True):
        restriction = record_restriction(child=cast.bao, substance="peanut")

    restriction.refresh_from_db()
    assert "connection refused" in caplog.text
    assert noted() == [cast.ferrowick]


def test_the_change_is_found_at_once(cast: Cast, sent: list[object]) -> None:
    """Bao may not have peanut since a moment ago, and the sandwich is for lunch."""
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    record_restriction(child=cast.bao, substance="peanut")

    recheck()

    run = Run.objects.newest_for(cast.ferrowick)
    assert run
    assert run.trigger == Run.Trigger.CHANGE
    assert run.counts["digest"]["changed"] == 1
    assert run.told_at is not None
    assert noted() == []


def test_one_check_serves_many_changes(cast: Cast, sent: list[object]) -> None:
    """An import of a hundred labels is no hundred checks, and a message that comes late finds nothing to do."""
    for substance in ("milk", "egg"):
        record_restriction(child=cast.bao, substance=substance)
    for _ in range(3):
        recheck()
    assert Run.objects.count() == 1


def test_a_site_can_be_named(cast: Cast, sent: list[object]) -> None:
    """Whoever looks after the nights has it checked again, whatever changed there; one that is gone is left out."""
    recheck(cast.tansy_gate.pk)
    recheck(cast.tansy_gate.pk + 1_000)
    assert [run.site for run in Run.objects.all()] == [cast.tansy_gate]


def test_a_check_of_days_further_ahead_serves_no_change(cast: Cast, sent: list[object]) -> None:
    """It is newer than the change, and has not looked at today's lunch."""
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    record_restriction(child=cast.bao, substance="peanut")
    ahead = timezone.localdate() + timedelta(days=30)
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND, first_day=ahead)

    recheck()

    assert Run.objects.filter(trigger=Run.Trigger.CHANGE).exists()


def test_a_check_of_days_further_ahead_makes_today_s_no_fresher(cast: Cast) -> None:
    """What is shown as of is the moment at which somebody looked at today."""
    night = check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    today = timezone.localdate()
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.HAND, first_day=today + timedelta(days=30))
    assert [each.run for each in coverage([cast.ferrowick], today, today + timedelta(days=13))] == [night]
    assert not missed(cast.ferrowick, timezone.now())


def test_a_change_while_the_site_is_busy_comes_back(cast: Cast, sent: list[object]) -> None:
    """The check under way may have begun before the change: it must not be lost."""
    today = timezone.localdate()
    Run.objects.create(site=cast.ferrowick, trigger="night", as_of=timezone.now(), first_day=today, last_day=today)
    record_restriction(child=cast.bao, substance="peanut")
    with pytest.raises(Retry):
        recheck.apply(throw=True, retries=0).get()
    assert noted() == [cast.ferrowick]


def test_a_label_of_a_dish_whose_site_is_busy_stays_noted(cast: Cast, sent: list[object]) -> None:
    """The food has still to be read there."""
    check_and_tell(site=cast.ferrowick, trigger=Run.Trigger.NIGHT)
    today = timezone.localdate()
    held = Run.objects.create(
        site=cast.ferrowick, trigger="night", as_of=timezone.now(), first_day=today, last_day=today
    )
    record_label(product=cast.larder.rice, ingredients="rice, milk powder", seen_on=today)
    assert set(check_changes().busy) == {cast.ferrowick}
    assert noted() == [cast.larder.rice]
    held.delete()
    assert [run.site for run in check_changes().runs] == [cast.ferrowick]
    assert noted() == []


def test_a_site_that_cannot_be_checked_fails_where_somebody_sees_it(
    cast: Cast, sent: list[object], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its note goes, or the next change anywhere would fail again with it."""

    def poisoned(*_: object, **__: object) -> None:
        raise ValueError("a recipe that cannot be read")

    monkeypatch.setattr("compliance.checks.slices.judge_sites", poisoned)
    record_restriction(child=cast.bao, substance="peanut")
    recheck()
    assert noted() == []
    assert Run.objects.get().state == Run.State.FAILED
    assert [(letter.task, letter.site) for letter in DeadLetter.objects.all()] == [("recheck", cast.ferrowick)]


class TestUnread:
    """Changes that nobody noted, found every few minutes."""

    @pytest.fixture(autouse=True)
    def _checked(self, cast: Cast, sent: list[object]) -> None:
        for site in (cast.ferrowick, cast.tansy_gate):
            check_and_tell(site=site, trigger=Run.Trigger.NIGHT)

    def test_nothing_new(self, sent: list[object]) -> None:
        """Nothing is checked for nothing."""
        catch_up()
        assert sent == [] and noted() == []

    def test_what_waits_is_sent_for_again(self, cast: Cast, sent: list[object]) -> None:
        """The broker was away when it was noted."""
        record_label(product=cast.larder.rice, ingredients="rice, milk powder", seen_on=timezone.localdate())
        catch_up()
        assert sent == [()]

    def test_a_label_that_nobody_noted(self, cast: Cast, sent: list[object]) -> None:
        """It concerns the site that serves it, and no longer once that has been checked."""
        LabelFactory(product=cast.larder.rice, ingredients="rice, milk powder")
        catch_up()
        assert noted() == [cast.ferrowick]

        recheck()
        catch_up()
        assert noted() == []
        assert sent == [()]

    def test_a_restriction_of_one_child(self, cast: Cast) -> None:
        """It concerns the site of the child."""
        record_restriction(child=cast.petra, substance="peanut")
        UnreadChange.objects.all().delete()
        catch_up()
        assert noted() == [cast.tansy_gate]

    def test_a_label_that_a_teacher_pasted(self) -> None:
        """It stands in no recipe."""
        treat = ProductFactory(origin=Product.Origin.CLASSROOM)
        record_label(product=treat, ingredients="sugar", seen_on=timezone.localdate())
        assert check_changes().runs == []
        catch_up()
        assert noted() == []

    def test_a_child_who_moves_here(self, cast: Cast) -> None:
        """The restriction is old, and this site has never read it."""
        cast.mateo.enrolments.update(ends_on=timezone.localdate() - timedelta(days=1))
        EnrolmentFactory(child=cast.mateo, classroom=cast.minnows, starts_on=timezone.localdate())
        catch_up()
        assert cast.tansy_gate in noted()

    def test_a_fact_of_an_import_that_took_long(self, cast: Cast) -> None:
        """Recorded before the check and saved after it, so that the check cannot have read it."""
        LabelFactory(
            product=cast.larder.yogurt, ingredients="milk, egg", recorded_at=timezone.now() - timedelta(minutes=5)
        )
        catch_up()
        assert noted() == [cast.tansy_gate]

    def test_a_cycle_that_calls_for_another_dish(self, cast: Cast) -> None:
        """What will be cooked is not what was checked."""
        cycle = CycleMenuFactory(site=cast.ferrowick)
        for weekday in range(7):
            CycleEntryFactory(cycle=cycle, weekday=weekday, recipe=cast.dishes.yogurt_cup)
        catch_up()
        assert noted() == [cast.ferrowick]

    def test_a_site_whose_check_failed_lately_is_left_to_rest(self, cast: Cast) -> None:
        """At once it would only fail again."""
        LabelFactory(product=cast.larder.rice, ingredients="rice, milk powder")
        Run.objects.create(
            site=cast.ferrowick,
            trigger="change",
            state=Run.State.FAILED,
            as_of=timezone.now(),
            first_day=timezone.localdate(),
            last_day=timezone.localdate(),
        )
        catch_up()
        assert noted() == []
