"""Whose check it is: each site is checked by one at a time, and what is older never takes the place of newer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from compliance.models import Run
from menus.models import Site


def lease() -> timedelta:
    """Return after how long a running check was cut off, so that the next may begin: the process is killed by then."""
    return timedelta(seconds=settings.NIGHT_SLICE_SECONDS + 120)


class SiteBusy(Exception):
    """Somebody else is checking the site at this moment, or has just read more of it than this check would."""


@dataclass(frozen=True, slots=True)
class Claim:
    """Runs that are ours to carry out, and the sites that are not ours to check, each with the reason."""

    token: UUID
    runs: list[Run]
    busy: dict[Site, str]


def claim(sites: Sequence[Site], trigger: Run.Trigger, as_of: datetime, first: date, last: date) -> Claim:
    """Begin a run of each site that nobody else is checking. Five queries."""
    now, token = timezone.now(), uuid4()
    cut_off = Run.objects.filter(site__in=sites, state=Run.State.RUNNING, started_at__lt=now - lease())
    cut_off.update(state=Run.State.FAILED, finished_at=now, error="The check was cut off before it came to its end.")
    with transaction.atomic():
        # The database knows of one running check a site, and leaves out whatever would be a second.
        Run.objects.bulk_create(
            [
                Run(site=site, trigger=trigger, as_of=as_of, first_day=first, last_day=last, claim=token)
                # In one order, so that two who claim the same wait for each other and never in a ring.
                for site in sorted(sites, key=lambda site: site.pk)
            ],
            ignore_conflicts=True,
        )
        # By the site and the state too: of these there is an index, and of all checks ever made there are many.
        ours = Run.objects.filter(site__in=sites, state=Run.State.RUNNING, claim=token)
        # Asked once the claims are ours: the check that held one before may have begun after our moment.
        newer = Run.objects.complete().filter(site__in=sites, as_of__gt=as_of)
        passed = set(newer.values_list("site", flat=True))
        if passed:
            ours.filter(site__in=passed).delete()
        runs = {run.site_id: run for run in ours}
    busy = {site: _why(site, site.pk in passed) for site in sites if site.pk not in runs}
    for site in sites:
        if site.pk in runs:
            runs[site.pk].site = site
    return Claim(token, [runs[site.pk] for site in sites if site.pk in runs], busy)


def held(runs: Iterable[Run]) -> list[Run]:
    """Lock the claims until the end of the transaction, and return those that were not given up for dead meanwhile."""
    wanted = {run.pk: run for run in runs}
    still = Run.objects.select_for_update().filter(pk__in=wanted, state=Run.State.RUNNING).order_by("pk")
    return [wanted[pk] for pk in still.values_list("pk", flat=True)]


def give_up(runs: Iterable[Run], error: BaseException | str) -> None:
    """Keep that these runs came to nothing, and why."""
    said = error if isinstance(error, str) else f"{type(error).__name__}: {error}"
    pks = [run.pk for run in runs]
    running = Run.objects.filter(pk__in=pks, state=Run.State.RUNNING)
    running.update(state=Run.State.FAILED, finished_at=timezone.now(), error=said)
    for run in runs:
        run.state, run.error = Run.State.FAILED, said


def _why(site: Site, passed: bool) -> str:
    if passed:
        return f"{site} has been checked since; that check read later facts and stands. Check it now."
    return f"{site} is being checked at this moment. Its result will be there in a minute."
