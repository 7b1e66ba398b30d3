"""The record of actions: sealed, in one chain a site; whatever is changed, taken out or put in is found."""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.utils import timezone

from menus.models.facts import FactChanged
from roster.models import Action, ChainEnd, Enrolment, Verb
from roster.record.actor import acts
from roster.record.purge import purge
from roster.record.verify import faults
from roster.record.write import record
from tests.cast import Cast
from tests.roster.record.tampering import TAMPERINGS


@pytest.fixture
def cast(cast: Cast) -> Cast:
    """The cast, with a record that begins only now."""
    Action.objects.all()._raw_delete("default")
    ChainEnd.objects.all().delete()
    return cast


@pytest.fixture
def kept(cast: Cast) -> Cast:
    """Forty entries: at two sites and at none."""
    for number in range(40):
        site = (cast.ferrowick, cast.tansy_gate, None)[number % 3]
        record(Verb.READ, "statement 7", site=site, child=cast.noor, by=cast.hakim.pk, number=number)
    return cast


def test_what_was_done_is_kept_with_who_did_it(cast: Cast) -> None:
    """The person signed in is the one who acts, unless somebody else is named."""
    with acts(cast.hakim.pk):
        entry = record(Verb.ENDED, cast.noor, site=cast.ferrowick, child=cast.noor, before={"ends": None}, after={})
    assert (entry.actor, entry.number, entry.subject) == (cast.hakim, 1, f"child {cast.noor.pk}")
    assert '"before":{"ends":null}' in entry.payload
    assert record(Verb.READ, "menu").actor is None


def test_an_entry_is_never_edited(kept: Cast) -> None:
    """It is a fact."""
    entry = Action.objects.first()
    assert entry is not None
    with pytest.raises(FactChanged):
        entry.save()


def test_an_untouched_record_has_no_faults(kept: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """And the command says how much there is."""
    assert list(faults()) == []
    call_command("verify_record")
    assert "40 entries" in capsys.readouterr().out


def test_any_tampering_is_found(kept: Cast) -> None:
    """A hundred times: a row edited, taken out, copied in, swapped with another, or the end of a chain set back."""
    for number in range(100):
        deal = random.Random(number)
        tampering = deal.choice(TAMPERINGS)
        with transaction.atomic():
            tampering(deal)
            assert list(faults()), f"{tampering.__name__} with seed {number}"
            transaction.set_rollback(True)
    assert list(faults()) == []


def test_the_command_names_the_faults(kept: Cast, capsys: pytest.CaptureFixture[str]) -> None:
    """And fails, so that whoever runs it by the clock hears of it."""
    Action.objects.filter(site=kept.ferrowick, number=2).update(subject="statement 8")
    with pytest.raises(CommandError, match="Faults in the record of actions: 1"):
        call_command("verify_record")
    assert f"Site {kept.ferrowick.pk}, entry 2: The entry's columns were changed." in capsys.readouterr().out


class TestPurge:
    """Entries past their time are emptied, and the record still holds together."""

    @pytest.fixture(autouse=True)
    def _left(self, kept: Cast) -> None:
        """Noor, whom the entries are about, left long ago."""
        Enrolment.objects.filter(child=kept.noor).update(starts_on=date(2001, 1, 1), ends_on=date(2001, 6, 30))

    def test_what_is_about_a_child_is_kept_while_the_child_is_here(self, kept: Cast) -> None:
        """Who read a child's papers has to be known as long as the papers are in use; the rest goes."""
        Enrolment.objects.filter(child=kept.noor).update(ends_on=None)
        record(Verb.READ, "menu", site=kept.ferrowick)
        assert purge(site=kept.ferrowick, before=timezone.now() + timedelta(minutes=1)) == 1
        assert not list(faults())

    def test_old_entries_lose_their_content_and_keep_their_place(self, kept: Cast) -> None:
        """Only of the site named, and only those before the moment."""
        later = timezone.now() + timedelta(minutes=1)
        assert purge(site=kept.ferrowick, before=later) == 14
        assert Action.objects.filter(site=kept.ferrowick, payload="").count() == 14
        assert not Action.objects.filter(payload="").exclude(site=kept.ferrowick).exists()
        assert list(faults()) == []
        assert purge(site=kept.ferrowick, before=later) == 0, "a purge is not purged"

    def test_an_entry_emptied_by_hand_is_found(self, kept: Cast) -> None:
        """Only what a purge on record names may be empty."""
        purge(site=kept.ferrowick, before=timezone.now() + timedelta(minutes=1))
        Action.objects.filter(site=kept.tansy_gate, number=2).update(payload="", actor=None, child=None, subject="")
        assert [fault.number for fault in faults()] == [2]

    def test_an_emptied_entry_cannot_be_made_another(self, kept: Cast) -> None:
        """What stays of it is sealed: the verb, the time, the place."""
        purge(site=kept.ferrowick, before=timezone.now() + timedelta(minutes=1))
        Action.objects.filter(site=kept.ferrowick, number=3).update(verb=Verb.EXPORTED)
        assert list(faults())
