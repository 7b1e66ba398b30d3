"""Dead letters: one for each site and task, until it is settled."""

from __future__ import annotations

import pytest

from compliance.checks.nights.letters import bury, settle
from compliance.models import DeadLetter
from roster.models import Action, Verb
from tests.factories import SiteFactory, UserFactory

pytestmark = pytest.mark.django_db

Reason = DeadLetter.Reason


def test_what_fails_again_is_the_same_letter() -> None:
    """With the newest reason, and how often it was tried in all."""
    site = SiteFactory()
    bury("slice", [site.pk], Reason.AWAY, "gone", attempts=5)
    bury("slice", [site.pk], Reason.ERROR, "ValueError: a loop")
    letter = DeadLetter.objects.get()
    assert (letter.reason, letter.error, letter.attempts) == (Reason.ERROR, "ValueError: a loop", 6)


def test_another_task_or_site_has_its_own() -> None:
    """And a settled one is not taken up again."""
    site, other = SiteFactory.create_batch(2)
    bury("slice", [site.pk, other.pk], Reason.ERROR, "")
    bury("recheck", [site.pk], Reason.ERROR, "")
    assert DeadLetter.objects.count() == 3
    settle(DeadLetter.objects.get(task="recheck"), by=UserFactory(), note="mended")
    bury("recheck", [site.pk], Reason.ERROR, "")
    assert DeadLetter.objects.filter(task="recheck").count() == 2
    assert DeadLetter.objects.unsettled().count() == 3


def test_settled_once_and_on_record() -> None:
    """By whom and how."""
    site, person = SiteFactory(), UserFactory()
    bury("slice", [site.pk], Reason.ERROR, "")
    letter = DeadLetter.objects.get()
    assert settle(letter, by=person, note="checked again")
    assert not settle(letter, by=UserFactory(), note="me too")
    letter.refresh_from_db()
    assert (letter.settled_by, letter.note) == (person, "checked again")
    entry = Action.objects.get(subject=f"dead letter {letter.pk}")
    assert (entry.verb, entry.site, entry.actor) == (Verb.ANSWERED, site, person)
