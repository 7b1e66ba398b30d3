"""The end of a night: closed once, with what came of it, and mails to those whom it concerns."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import nullcontext
from datetime import timedelta

import pytest
from django.db import OperationalError
from django.utils import timezone

from compliance.checks import digest
from compliance.checks.nights.close import close, runs_of, stop
from compliance.checks.nights.start import begin
from compliance.checks.nights.work import work
from compliance.models import Night, NightSlice, Run
from menus.models import Site
from tests.compliance.checks.nights.conftest import Checks
from tests.factories import SiteFactory
from tests.nights import complete

pytestmark = pytest.mark.django_db


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[list[int]]:
    """The sites of the runs of which people were told, for each time."""
    times: list[list[int]] = []

    def send_for(runs: Sequence[Run]) -> None:
        times.append(sorted(run.site_id for run in runs))

    monkeypatch.setattr(digest, "send_for", send_for)
    return times


def night(*sites: Site) -> Night:
    """A night that was due a minute ago."""
    made = begin(due_at=timezone.now() - timedelta(minutes=1), trigger=Run.Trigger.NIGHT, sites=sites)
    assert made is not None
    return made


def test_closed_once_with_one_telling(checks: Checks, told: list[list[int]]) -> None:
    """Whoever ended a slice last may ask twice."""
    sites = SiteFactory.create_batch(2)
    ours = night(*sites)
    work(ours.slices.get().pk)
    now = timezone.now()
    assert close(ours.pk, now) == ours
    assert close(ours.pk, now) is None
    ours.refresh_from_db()
    assert (ours.state, ours.closed_at) == (Night.State.COMPLETE, now)
    assert ours.counts == {"checked": 2, "busy": 0, "failed": 0}
    assert told == [[site.pk for site in sites]]


def test_not_while_a_slice_is_open(settings, checks: Checks, told: list[list[int]]) -> None:
    """It may bring something yet."""
    settings.NIGHT_SLICE_SITES = 1
    ours = night(*SiteFactory.create_batch(2))
    first, second = ours.slices.all()
    work(first.pk)
    assert close(ours.pk, timezone.now()) is None
    assert told == []
    NightSlice.objects.filter(pk=second.pk).update(state=NightSlice.State.RUNNING)
    assert close(ours.pk, timezone.now()) is None


def test_partial_when_a_site_was_not_checked(checks: Checks, told: list[list[int]]) -> None:
    """Those of the others are told all the same."""
    well, poison = SiteFactory.create_batch(2)
    checks.poison = {poison.pk}
    ours = night(well, poison)
    work(ours.slices.get().pk)
    close(ours.pk, timezone.now())
    ours.refresh_from_db()
    assert (ours.state, ours.counts) == (Night.State.PARTIAL, {"checked": 1, "busy": 0, "failed": 1})
    assert told == [[well.pk]]


def test_only_what_the_night_itself_brought_is_told(checks: Checks, told: list[list[int]]) -> None:
    """Who checked the site before it, or after a change meanwhile, told of that then."""
    site, changed = SiteFactory.create_batch(2)
    complete(site, timezone.now() - timedelta(minutes=2))
    Run.objects.update(started_at=timezone.now() - timedelta(minutes=2))
    ours = night(site, changed)
    complete(changed, timezone.now(), trigger=Run.Trigger.CHANGE)
    work(ours.slices.get().pk)
    (run,) = runs_of(ours)
    assert run == Run.objects.get(site=site, as_of__gt=ours.due_at)
    close(ours.pk, timezone.now())
    assert told == [[site.pk]]


@pytest.mark.parametrize(("error", "state"), [(RuntimeError, Night.State.COMPLETE), (OperationalError, "running")])
def test_what_cannot_be_told_holds_up_no_night(
    checks: Checks, monkeypatch: pytest.MonkeyPatch, error: type[Exception], state: str
) -> None:
    """An open night keeps its sites from the next. Where the database is away it is closed later."""

    def fail(runs: Sequence[Run]) -> None:
        raise error("no outbox")

    monkeypatch.setattr(digest, "send_for", fail)
    ours = night(SiteFactory())
    work(ours.slices.get().pk)
    with pytest.raises(error) if state == "running" else nullcontext():
        close(ours.pk, timezone.now())
    ours.refresh_from_db()
    assert ours.state == state
    assert runs_of(ours).filter(told_at=None).exists()


def test_stopped_by_hand(settings, checks: Checks, told: list[list[int]]) -> None:
    """What waits is not done any more; what was done is told."""
    settings.NIGHT_SLICE_SITES = 1
    first, second = SiteFactory.create_batch(2)
    ours = night(first, second)
    work(ours.slices.get(number=1).pk)
    assert stop(ours, timezone.now()) == ours
    ours.refresh_from_db()
    assert (ours.state, ours.counts) == (Night.State.PARTIAL, {"checked": 1, "busy": 0, "failed": 1})
    assert ours.slices.get(number=2).error == "It was stopped by hand."
    assert told == [[first.pk]]
