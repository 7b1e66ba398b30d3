"""The day of a child is the one on the clock of its site, not the one in Greenwich."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from roster.life.report import Said, report
from roster.life.statement import receive_statement
from roster.models import Basis, Child, Restriction, Statement, Strictness
from roster.services import record_restriction
from tests.cast import Cast
from tests.factories import EnrolmentFactory, RestrictionFactory, StatementFactory

DAY = timedelta(days=1)


@pytest.fixture
def evening(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> date:
    """It is evening at Ferrowick, and the day after in Greenwich. Returns the day at Ferrowick."""
    cast.ferrowick.time_zone = "America/Los_Angeles"
    cast.ferrowick.save()
    return _clock(monkeypatch, hour=3) - DAY


@pytest.fixture
def morning(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> date:
    """It is morning at Ferrowick, and the day before in Greenwich. Returns the day at Ferrowick."""
    cast.ferrowick.time_zone = "Pacific/Auckland"
    cast.ferrowick.save()
    return _clock(monkeypatch, hour=21) + DAY


def _clock(monkeypatch: pytest.MonkeyPatch, hour: int) -> date:
    """Stop the clock at that hour in Greenwich, two days ahead, so that all on record lies before it."""
    then = (timezone.now() + 2 * DAY).replace(hour=hour, minute=0)
    monkeypatch.setattr(timezone, "now", lambda: then)
    return then.date()


def again(child: Child) -> Child:
    """As a page reads it: what the site is like comes from the database."""
    return Child.objects.get(pk=child.pk)


def test_a_child_moves_at_midnight_of_its_site(cast: Cast, evening: date) -> None:
    """Until then the emergency page names where the child is."""
    cast.noor.enrolments.update(ends_on=evening)
    EnrolmentFactory(child=cast.noor, classroom=cast.minnows, starts_on=evening + DAY)
    cast.tansy_gate.time_zone = "America/Los_Angeles"
    cast.tansy_gate.save()
    child = again(cast.noor)
    assert (child.site, child.today) == (cast.ferrowick, evening)


def test_on_its_last_evening_a_medical_restriction_cannot_be_made_milder(cast: Cast, evening: date) -> None:
    """It still protects."""
    old = RestrictionFactory(child=again(cast.bao), substance="milk", basis=Basis.STATEMENT, ends_on=evening)
    with pytest.raises(ValidationError, match="milder"):
        record_restriction(child=old.child, substance="milk", replaces=old, strictness=Strictness.INGREDIENT)


def test_what_ended_yesterday_begins_anew_in_the_morning(cast: Cast, morning: date) -> None:
    """Nothing that was signed before comes back with it, though in Greenwich its last day has not passed."""
    old = RestrictionFactory(child=again(cast.bao), substance="milk", ends_on=morning - DAY)
    new = record_restriction(child=old.child, substance="milk", replaces=old, recorded_at=timezone.now())
    assert new.chain == new.pk


def test_what_begins_tomorrow_does_not_stand_for_a_report_of_tonight(cast: Cast, evening: date) -> None:
    """Else nothing would protect the child this evening."""
    child = again(cast.bao)
    RestrictionFactory(child=child, substance="kiwi", basis=Basis.REPORTED, starts_on=evening + DAY)
    done = report(child=child, said=Said(None, ["kiwi"]), reported_by=cast.rosa)
    assert len(done.recorded) == 1 and Restriction.objects.filter(substance="kiwi", starts_on=None).exists()


def test_a_statement_signed_this_morning_is_not_still_to_come(cast: Cast, morning: date) -> None:
    """It is today there."""
    fields = _fields(StatementFactory.build(child=cast.bao, signed_on=morning))
    kept = receive_statement(child=again(cast.bao), received_by=cast.hakim, under=(), further={}, scan=None, **fields)
    assert kept.signed_on == morning


def test_a_statement_of_tomorrow_is_still_to_come(cast: Cast, evening: date) -> None:
    """Though it is tomorrow in Greenwich."""
    fields = _fields(StatementFactory.build(child=cast.bao, signed_on=evening + DAY))
    with pytest.raises(ValidationError, match="is still to come"):
        receive_statement(child=again(cast.bao), received_by=cast.hakim, under=(), further={}, scan=None, **fields)


def _fields(said: Statement) -> dict[str, object]:
    names = ("signatory", "credential", "licence_state", "signed_on", "program", "impairment", "accommodate", "omit")
    return {name: getattr(said, name) for name in (*names, "instead", "review_on")}


def test_the_hours_of_these_tests_are_what_they_say(evening: date) -> None:
    """A guard: the two clocks tell different dates."""
    assert isinstance(evening, date) and not isinstance(evening, datetime) and timezone.now().date() == evening + DAY
