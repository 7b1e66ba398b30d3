"""A whole night in a test: begun, worked through and closed, as worker and beat do it. Or only what one leaves."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.conf import settings
from django.utils import timezone

from compliance.checks.nights.close import close
from compliance.checks.nights.start import begin
from compliance.checks.nights.work import work
from compliance.models import CheckedDay, Night, Run
from menus.models import Site


def nightly(*sites: Site) -> Night:
    """Carry out a night of these sites that is due now. What is given back is left as it is, and the night open."""
    night = begin(due_at=timezone.now(), trigger=Run.Trigger.NIGHT, sites=sites)
    assert night is not None
    for part in night.slices.all():
        work(part.pk)
    close(night.pk, timezone.now())
    night.refresh_from_db()
    return night


def complete(site: Site, at: datetime, *, trigger: str = Run.Trigger.NIGHT, first_day: date | None = None) -> Run:
    """Keep a complete run of the site at that moment, which speaks for the days of its window."""
    first = first_day or at.astimezone(site.zone).date()
    days = [first + timedelta(days=number) for number in range(settings.NIGHTLY_WINDOW_DAYS)]
    run = Run.objects.create(
        site=site, trigger=trigger, state=Run.State.COMPLETE, as_of=at, first_day=days[0], last_day=days[-1]
    )
    for day in days:
        CheckedDay.objects.update_or_create(site=site, day=day, defaults={"run": run})
    return run
