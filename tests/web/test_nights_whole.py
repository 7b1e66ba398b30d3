"""A night with a site that cannot be checked, from its beginning to the site being mended, as the page tells it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from compliance.checks import slices
from compliance.checks.nights.close import close
from compliance.checks.nights.queue import take
from compliance.checks.nights.start import start_nights
from compliance.checks.nights.sweep import sweep
from compliance.checks.nights.work import work
from compliance.models import DeadLetter, NightSlice
from compliance.tasks import recheck
from menus.models import Site
from tests.cast import Cast
from tests.web.pages import as_user, soup, words

pytestmark = pytest.mark.django_db(transaction=True)
NIGHTS = "/nights/"


@pytest.fixture
def poison(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """Something at Ferrowick that no check can stand."""
    whole = slices.judge_sites

    def judge(sites: Sequence[Site], *args: Any, **kwargs: Any) -> Any:
        if cast.ferrowick in sites:
            raise ValueError("a recipe holds itself")
        return whole(sites, *args, **kwargs)

    monkeypatch.setattr(slices, "judge_sites", judge)
    return monkeypatch


def carried_out() -> None:
    """Do what the workers do until nothing waits."""
    while pks := take(timezone.now()):
        for pk in pks:
            work(pk)


def shown(client: Client) -> str:
    return words(client.get(NIGHTS))


def test_from_its_beginning_to_its_mending(cast: Cast, poison: pytest.MonkeyPatch) -> None:
    june = as_user(cast.june)
    (night,) = start_nights(timezone.now())
    assert "0 of 2 checked, 2 waiting; too early to say how long." in shown(june)
    carried_out()
    assert close(night.pk, timezone.now())
    told = shown(june)
    assert "Not every site was checked 1 of 2 checked, 1 failed 1 done" in told
    assert "Ferrowick Elementary School was never checked. Its check failed: ValueError: a recipe" in told
    assert "For today Tansy Gate" not in told
    assert NightSlice.objects.get().counts == {"checked": 1, "busy": 0, "failed": 1}

    poison.undo()
    (again,) = soup(june.get(NIGHTS)).select("form[action^='/nights/sites/']")
    june.post(str(again["action"]))
    assert not DeadLetter.objects.unsettled().exists()
    recheck.apply()
    assert "Every site was checked in time, and no work was given up." in shown(june)


def test_a_letter_is_settled_by_a_later_check(cast: Cast, poison: pytest.MonkeyPatch) -> None:
    """The next night, or a check after a change; nobody has to press anything."""
    start_nights(timezone.now())
    carried_out()
    letter = DeadLetter.objects.unsettled().get()
    assert letter.site == cast.ferrowick
    poison.undo()
    DeadLetter.objects.update(failed_at=timezone.now() - timedelta(seconds=1))
    recheck.apply(args=[cast.ferrowick.pk])
    sweep(timezone.now())
    assert not DeadLetter.objects.unsettled().exists()
