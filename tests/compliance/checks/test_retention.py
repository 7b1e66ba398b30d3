"""How long the record of actions is kept: for ever, or as the setting says, and never too short."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from compliance.checks.retention import LEAST_DAYS, due_for_purge, purge_all
from compliance.config.checks import check_settings
from compliance.models import Incident
from compliance.tasks import purge_record
from roster.life.approval import end_approval
from roster.life.lunchbox import save_box
from roster.models import Action, Enrolment, LunchBox, RoomApproval, TextureLevel, Verb
from roster.record import write
from roster.record.verify import faults
from tests.cast import Cast
from tests.factories import RoomApprovalFactory, TextureLevelFactory


@pytest.fixture
def old(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Cast:
    """Entries recorded five years ago at Ferrowick, some about Noor, who left then, and one of today."""
    Enrolment.objects.filter(child=cast.noor).update(starts_on=date(2001, 1, 1), ends_on=date(2001, 6, 30))
    with monkeypatch.context() as clock:
        clock.setattr(write, "timezone", _Clock(timezone.now() - timedelta(days=5 * 366)))
        for number in range(4):
            child = cast.noor if number % 2 else None
            write.record(Verb.READ, f"statement {number}", site=cast.ferrowick, child=child, by=cast.hakim.pk)
        write.record(Verb.READ, "statement 9", site=cast.ferrowick, child=cast.mateo, by=cast.hakim.pk)
        write.record(Verb.RECORDED, "word 1", by=cast.hakim.pk)
    write.record(Verb.READ, "statement 10", site=cast.ferrowick, by=cast.hakim.pk)
    return cast


class _Clock:
    """A clock that stands."""

    def __init__(self, moment: datetime) -> None:
        self._moment = moment

    def now(self) -> datetime:
        return self._moment


def emptied() -> int:
    """How many entries hold nothing any more."""
    return Action.objects.filter(payload="").count()


def test_without_a_setting_it_is_kept_for_ever(old: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """The command says so, and the task does nothing."""
    call_command("purge_record")
    purge_record()
    assert "kept for ever" in capsys.readouterr().out and emptied() == 0


def test_what_is_past_its_time_is_emptied_and_the_seals_hold(old: Cast, settings: Any) -> None:
    """Noor's and nobody's entries go; Mateo is here, so who read his papers stays known; today's stays."""
    settings.RECORD_KEEP_DAYS = LEAST_DAYS
    assert purge_all(timezone.now()) == 5 == emptied()
    assert Action.objects.get(subject="statement 9").child == old.mateo
    assert Action.objects.filter(subject="statement 10").exists()
    assert not list(faults())
    assert Action.objects.filter(verb=Verb.PURGED).count() == 2, "at Ferrowick, and of no one site"
    assert purge_all(timezone.now()) == 0


def test_who_packed_and_who_set_a_level_stays_known_while_the_child_is_here(
    cast: Cast, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a child who left it goes as all else does; boxes, levels and approvals themselves are erased by nothing."""
    settings.RECORD_KEEP_DAYS = LEAST_DAYS
    today = timezone.localdate()
    Enrolment.objects.filter(child=cast.noor).update(starts_on=date(2001, 1, 1), ends_on=date(2001, 6, 30))
    approval = RoomApprovalFactory.create(site=cast.ferrowick, approved_by=cast.june)
    with monkeypatch.context() as clock:
        clock.setattr(write, "timezone", _Clock(timezone.now() - timedelta(days=5 * 366)))
        for child in (cast.noor, cast.mateo):
            TextureLevelFactory.create(child=child, recorded_by=cast.hakim)
            write.record(Verb.RECORDED, child.texture_levels.get(), site=cast.ferrowick, child=child, by=cast.hakim.pk)
        save_box(child=cast.mateo, day=today, items=[], by=cast.hakim, replaces=None)
        end_approval(approval=approval, reason="A newer label.", ended_by=cast.june)
    assert purge_all(timezone.now()) == 2, "of Noor, and of the room: it is about no child"
    kept = Action.objects.filter(child=cast.mateo).exclude(payload="").values_list("subject", flat=True)
    assert {subject.rpartition(" ")[0] for subject in kept} >= {"texture level", "lunch box"}
    of_noor = cast.noor.texture_levels.get()
    assert not Action.objects.filter(subject=f"texture level {of_noor.pk}").exclude(payload="").exists()
    assert (TextureLevel.objects.count(), LunchBox.objects.count(), RoomApproval.objects.count()) == (2, 1, 1)


def test_a_dry_run_empties_nothing(old: Cast, settings: Any, capsys: pytest.CaptureFixture[str]) -> None:
    """And says what would go, site by site."""
    settings.RECORD_KEEP_DAYS = LEAST_DAYS
    count = Action.objects.count()
    call_command("purge_record", dry_run=True)
    said = capsys.readouterr().out
    assert "Ferrowick Elementary School: 4 entries" in said and "no one site: 1 entries" in said
    assert (emptied(), Action.objects.count()) == (0, count)
    call_command("purge_record")
    assert "5 entries were emptied" in capsys.readouterr().out


def test_nothing_is_emptied_that_an_open_incident_may_need(old: Cast, settings: Any) -> None:
    """At its site, and of what belongs to none."""
    settings.RECORD_KEEP_DAYS = LEAST_DAYS
    Incident.objects.create(
        kind=Incident.Kind.REACTION,
        child=old.mateo,
        site=old.ferrowick,
        noticed_at=timezone.now() - timedelta(days=6 * 366),
        seen="Hives.",
        opened_by=old.rosa,
        gathered={},
        digest="0" * 64,
    )
    assert not list(due_for_purge(timezone.now()))
    assert purge_all(timezone.now()) == 0 == emptied()


def test_a_setting_below_the_least_is_refused_and_passed_over(old: Cast, settings: Any) -> None:
    """The start says so; and should it start all the same, the least counts."""
    settings.RECORD_KEEP_DAYS = 30
    assert "compliance.E005" in [message.id for message in check_settings()]
    assert {due.before.date() for due in due_for_purge(timezone.now())} == {
        (timezone.now() - timedelta(days=LEAST_DAYS)).date()
    }
    settings.RECORD_KEEP_DAYS = LEAST_DAYS
    assert "compliance.E005" not in [message.id for message in check_settings()]
