"""Check sites and tell those responsible what is new: the night's work, and that after a change."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from compliance.checks.digest import tell_of
from compliance.checks.run import check_site
from compliance.checks.slices import Checked, Progress, check_sites, silent
from compliance.models import Run
from menus.models import Site


def check_and_tell(
    *, site: Site, trigger: Run.Trigger, first_day: date | None = None, progress: Progress = silent
) -> Run:
    """Check the site's coming days, announce what is new today, and mail those responsible at once.

    Raises what check_site raises. The mails wait in the outbox: none of them can fail the check.
    """
    run = check_site(site=site, trigger=trigger, first_day=first_day, progress=progress)
    tell_of([run])
    run.refresh_from_db(fields=["told_at"])
    return run


def check_and_tell_all(
    sites: Sequence[Site], trigger: Run.Trigger, *, first_day: date | None = None, progress: Progress = silent
) -> Checked:
    """Check the coming days of these sites together, and announce what is new today.

    Whoever ends the night mails what is new, with `digest.send_for`: one mail for each person, whatever the sites.
    """
    return check_sites(sites, trigger=trigger, first_day=first_day, progress=progress)
