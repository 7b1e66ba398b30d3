"""Check a site and tell those responsible what is new: the night's work, and that after a change."""

from __future__ import annotations

from datetime import date, timedelta

from django.conf import settings
from django.utils import timezone

from compliance.checks.announced import announce
from compliance.checks.digest import send_digest
from compliance.checks.known import known, news
from compliance.checks.reminders import send_reminders
from compliance.checks.run import Progress, check_site
from compliance.models import Run
from menus.models import Site


def check_and_tell(
    *, site: Site, trigger: Run.Trigger, first_day: date | None = None, progress: Progress | None = None
) -> Run:
    """Check the site's coming days, announce what is new today, and mail a digest. Raises SiteBusy as check_site does.

    A mail that cannot be sent is logged and noted in the run; the check stands all the same.
    """
    now = timezone.now()
    first = first_day or now.astimezone(site.zone).date()
    last = first + timedelta(days=settings.NIGHTLY_WINDOW_DAYS - 1)
    before = known(site, first, last)
    run = check_site(site=site, trigger=trigger, as_of=now, first_day=first, progress=progress)
    after = known(site, first, last)
    announce(run, before, after)
    run.counts["digest"] = send_digest(run, news(before, after))
    run.counts["reminders"] = send_reminders(run)
    run.save(update_fields=["counts"])
    return run
