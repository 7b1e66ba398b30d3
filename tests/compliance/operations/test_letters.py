"""Work that was given up is tried again once, by whom it concerns, and on record."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from compliance.models import DeadLetter, UnreadChange
from compliance.operations import letters
from compliance.operations.letters import check_again, open_letters, try_again
from compliance.operations.scope import Scope
from compliance.tasks import recheck
from menus.models import Site
from roster.models import Action, Verb
from tests.cast import Cast
from tests.compliance.operations.rows import letter_of, night_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def queued(monkeypatch: pytest.MonkeyPatch) -> list[Site]:
    """The sites whose check was put into the queue."""
    sites: list[Site] = []
    monkeypatch.setattr(letters, "queue_checks", sites.extend)
    return sites


def test_a_letter_is_settled_and_its_site_queued(cast: Cast, queued: list[Site]) -> None:
    """By whom and how stands on it, and in the record of the site."""
    letter = letter_of(cast.ferrowick)
    assert try_again(letter, cast.june)
    letter.refresh_from_db()
    assert letter.settled_by == cast.june and letter.settled_at and letter.note == "Tried again by hand."
    assert queued == [cast.ferrowick]
    entry = Action.objects.latest("pk")
    assert (entry.site, entry.actor, entry.subject) == (cast.ferrowick, cast.june, f"dead letter {letter.pk}")


def test_two_who_press_at_once_queue_it_once(cast: Cast, queued: list[Site]) -> None:
    """The second is told, and nothing is done twice."""
    letter = letter_of(cast.ferrowick)
    assert try_again(letter, cast.june)
    assert not try_again(letter, cast.hakim)
    assert queued == [cast.ferrowick]
    assert Action.objects.filter(subject=f"dead letter {letter.pk}").count() == 1


def test_a_slice_is_tried_again_with_all_its_sites(cast: Cast, queued: list[Site]) -> None:
    """A letter without a site names a slice, or neither when the slice is gone."""
    night = night_of([cast.ferrowick, cast.tansy_gate])
    assert try_again(letter_of(None, slice=night.slices.get()), cast.june)
    assert set(queued) == {cast.ferrowick, cast.tansy_gate}
    assert try_again(letter_of(None), cast.june)
    assert len(queued) == 2


def test_checking_a_site_again_settles_what_was_given_up_there(cast: Cast, queued: list[Site]) -> None:
    """And nothing elsewhere."""
    letter_of(cast.ferrowick)
    other = letter_of(cast.tansy_gate)
    check_again(cast.ferrowick, cast.june)
    assert list(open_letters(Scope.everything())) == [other]
    assert queued == [cast.ferrowick]
    entry = Action.objects.get(verb=Verb.ASKED, subject="check of the site")
    assert (entry.site, entry.actor) == (cast.ferrowick, cast.june)


def test_letters_of_others_are_not_told_of(cast: Cast) -> None:
    """One of no site may name any site, so it is for who is told of all."""
    mine, theirs, nobodys = letter_of(cast.tansy_gate), letter_of(cast.ferrowick), letter_of(None)
    assert list(open_letters(Scope({cast.tansy_gate.pk: cast.tansy_gate}, is_all=False))) == [mine]
    assert set(open_letters(Scope.everything())) == {mine, theirs, nobodys}


def test_the_queue_is_told_after_the_change_is_through(
    cast: Cast, monkeypatch: pytest.MonkeyPatch, django_capture_on_commit_callbacks: Any
) -> None:
    """Not before: a worker could look before there is anything to see. The site is noted with the change."""
    UnreadChange.objects.all().delete()
    sent: list[str] = []
    monkeypatch.setattr(recheck, "delay", lambda: sent.append("recheck"))
    with django_capture_on_commit_callbacks(execute=False) as callbacks:
        try_again(letter_of(cast.ferrowick), cast.june)
    assert sent == [] and UnreadChange.objects.get().site == cast.ferrowick
    callbacks[-1]()
    assert sent == ["recheck"]


def test_a_site_has_one_open_letter_of_a_kind(cast: Cast) -> None:
    """A site that fails every night fills no list."""
    letter_of(cast.ferrowick)
    with pytest.raises(IntegrityError), transaction.atomic():
        letter_of(cast.ferrowick)
    assert DeadLetter.objects.unsettled().count() == 1
