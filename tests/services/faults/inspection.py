"""What is wrong with the service after a fault, in sentences; asked in a process of that service (see `whole`).

Prints a JSON list. Empty: every site has exactly one complete result or a failure that one can see,
nothing is there twice, nothing is missing, and the record of actions is whole.

What is still being checked is let come to its end, and all is read as of one moment: a beat that starts looks for
what was never checked, and its check may end while the inspection goes on.
"""

from __future__ import annotations

import json
import time
from collections import Counter
from collections.abc import Iterator

from django.db import connection, transaction
from django.db.models import Count

from compliance.checks.run import recompute
from compliance.models import (
    CheckedDay,
    DeadLetter,
    Night,
    NightSlice,
    OutgoingMail,
    Referral,
    Run,
    RunRestriction,
    ServedDish,
)
from menus.models import Serving, Site
from roster.record.verify import faults

PATIENCE = 60
"""Seconds in which a check that is under way ends; one that nobody works on never does."""


def wrong() -> Iterator[str]:
    """Yield one sentence for whatever is not as it has to be."""
    for site in Site.objects.order_by("pk"):
        yield from _of_site(site)
    yield from _of_nights()
    yield from _doubled()
    for fault in faults():
        yield f"The record of actions: chain {fault.chain}, entry {fault.number}: {fault.what}"


def _of_site(site: Site) -> Iterator[str]:
    for run in Run.objects.filter(site=site, state=Run.State.RUNNING):
        yield f"{site}: {run} is still under way, and nobody works on it."
    run = Run.objects.newest_for(site)
    if run is None:
        if not _failure_is_seen(site):
            yield f"{site}: was skipped without a word: no complete run, no failed one, no dead letter."
        return
    if recompute(run) != run.result_hash:
        yield f"{site}: {run}, worked out again, comes to another result."
    yield from _of_days(site, run)


def _of_days(site: Site, run: Run) -> Iterator[str]:
    days = dict(CheckedDay.objects.filter(site=site).values_list("day", "run"))
    for serving in Serving.objects.planned().filter(site=site).between(run.first_day, run.last_day):
        if not ServedDish.objects.filter(serving=serving).exists():
            yield f"{site}: {serving} is in the window of {run} and has no dish as prepared."
        if days.get(serving.date) != run.pk:
            yield f"{site}: for {serving.date} speaks run {days.get(serving.date)}, not the newest complete {run}."
    if not RunRestriction.objects.filter(run=run.reads_of).exists():
        yield f"{site}: {run} kept no restriction that it read."


def _failure_is_seen(site: Site) -> bool:
    failed_runs = Run.objects.filter(site=site, state=Run.State.FAILED).exclude(error="")
    failed_slices = NightSlice.objects.filter(state=NightSlice.State.FAILED).exclude(error="")
    return (
        failed_runs.exists()
        or DeadLetter.objects.unsettled().filter(site=site).exists()
        or any(site.pk in each.sites for each in failed_slices)
    )


def _of_nights() -> Iterator[str]:
    for night in Night.objects.all():
        if night.state == Night.State.RUNNING:
            yield f"{night} is not closed."
        slices = list(night.slices.all())
        for each in slices:
            if each.state in NightSlice.OPEN:
                yield f"{each} is {each.state}, and nobody works on it."
        for site, times in Counter(site for each in slices for site in each.sites).items():
            if times > 1:
                yield f"{night}: site {site} is in {times} slices."


def _doubled() -> Iterator[str]:
    for site, due in _twice_in_a_night():
        yield f"Site {site} has more complete nightly runs than nights ({due})."
    pairs = Referral.objects.waiting().order_by().values("restriction", "subject", "site")
    for pair in pairs.annotate(times=Count("pk")).filter(times__gt=1):
        yield f"A question waits {pair['times']} times: restriction {pair['restriction']}, {pair['subject']}."
    # Each check of some sites has a claim of its own; by a clock that was set back several may be of one moment.
    checks = Run.objects.exclude(trigger=Run.Trigger.NIGHT).order_by().values("claim").distinct()
    told = Night.objects.count() + checks.count()
    digests = OutgoingMail.objects.filter(kind=OutgoingMail.Kind.DIGEST).order_by().values_list("to")
    for person, times in digests.annotate(Count("pk")):
        if times > told:
            yield f"Account {person} was sent {times} digests of {told} nights and checks after changes."


def _twice_in_a_night() -> Iterator[tuple[int, str]]:
    nights = Counter(
        site for each in NightSlice.objects.filter(night__trigger=Run.Trigger.NIGHT) for site in each.sites
    )
    runs = Run.objects.complete().filter(trigger=Run.Trigger.NIGHT).values_list("site").annotate(Count("pk")).order_by()
    for site, times in runs:
        if times > nights[site]:
            yield site, f"{times} runs, {nights[site]} nights"


def _let_end() -> None:
    until = time.monotonic() + PATIENCE
    while Run.objects.filter(state=Run.State.RUNNING).exists() and time.monotonic() < until:
        time.sleep(0.2)


def _as_of_one_moment() -> None:
    if connection.vendor == "postgresql":  # SQLite reads so by itself
        with connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")


def main() -> None:
    """Print what is wrong."""
    _let_end()
    with transaction.atomic():
        _as_of_one_moment()
        print(json.dumps(list(wrong())))
