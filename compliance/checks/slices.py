"""Check the coming days of many sites together, and keep what was found with what was read."""

from __future__ import annotations

import gc
import logging
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, timedelta
from typing import Any

from django.db import InterfaceError, OperationalError, transaction
from django.db.models import OuterRef, Subquery
from django.utils import timezone

from compliance.checks.bulk.asked import ask_for
from compliance.checks.bulk.district import judge_sites
from compliance.checks.bulk.rows import update
from compliance.checks.bulk.stood import stood
from compliance.checks.bulk.table import Table
from compliance.checks.bulk.tell import tell
from compliance.checks.claims import claim, give_up, held
from compliance.checks.moment import moment
from compliance.checks.news import News
from compliance.checks.recorded import told_of
from compliance.checks.schedule import last_looked_at
from compliance.checks.store import Stored, stand, store_verdicts
from compliance.models import Referral, Run
from compliance.operations.about import about
from compliance.rules.register import RULES
from menus.models import Site
from menus.services.servings import plan_all
from roster.models import Verb
from roster.record.write import Entry, record_all

logger = logging.getLogger(__name__)

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how much of it is done, and how much there is."""

TRANSIENT = (OperationalError, InterfaceError)
"""The database went away or was held by another: nothing that a site has done, and worth another try as it is."""


@dataclass(slots=True)
class Checked:
    """What came of it: complete runs with what is new at each, sites that others check, and runs that failed."""

    runs: list[Run] = field(default_factory=list)
    news: dict[int, News] = field(default_factory=dict)  # by site
    busy: dict[Site, str] = field(default_factory=dict)
    failed: list[tuple[Run, Exception]] = field(default_factory=list)

    def take(self, other: Checked) -> None:
        """Add what came of other sites."""
        self.runs += other.runs
        self.news |= other.news
        self.busy |= other.busy
        self.failed += other.failed


def silent(what: str, done: int, of: int) -> None:
    """Report progress to nobody."""


def check_sites(
    sites: Sequence[Site],
    *,
    trigger: Run.Trigger | str,
    as_of: datetime | None = None,
    first_day: date | None = None,
    days: int | None = None,
    progress: Progress = silent,
) -> Checked:
    """Check the sites' servings from `first_day` (default: today at each) over `days` days.

    Facts recorded after `as_of` (default: now) are not read. What was read and found is stored in one transaction, in
    place of what stood. A site that cannot be checked fails alone: the rest is checked without it. Where a database
    goes away the runs are given up and its error is raised: nothing was stored, and the same may be tried again.
    """
    as_of = as_of or moment()
    by_day: dict[date, list[Site]] = {}
    for site in sites:
        by_day.setdefault(first_day or as_of.astimezone(site.zone).date(), []).append(site)
    checked = Checked()
    for first, there in sorted(by_day.items()):
        last = first + timedelta(days=days - 1) if days else last_looked_at(first)
        ours = claim(there, Run.Trigger(trigger), as_of, first, last)
        checked.busy |= ours.busy
        if ours.runs:
            checked.take(_carry_out(ours.runs, progress))
    return checked


def _carry_out(runs: list[Run], progress: Progress) -> Checked:
    """Check the sites of these runs, which are ours; all of one window."""
    try:
        return _together(runs, progress)
    except TRANSIENT as error:
        give_up(runs, error)
        raise
    except Exception as error:
        if len(runs) == 1:
            with about(run=runs[0].pk):
                logger.exception("The check of site %s failed.", runs[0].site_id)
            give_up(runs, error)
            return Checked(failed=[(runs[0], error)])
    except BaseException as error:  # somebody's Ctrl-C, or the sites would count as busy until their lease ends
        give_up(runs, error)
        raise
    return _one_by_one(runs, progress)


def _one_by_one(runs: list[Run], progress: Progress) -> Checked:
    """Check each site by itself, to find the one that cannot be."""
    checked = Checked()
    for number, run in enumerate(runs):
        try:
            checked.take(_carry_out([run], silent))
        except BaseException as error:
            give_up(runs[number + 1 :], error)
            raise
        progress("sites checked one by one", number + 1, len(runs))
    return checked


@contextmanager
def rings_left_for_later() -> Iterator[None]:
    """Put off looking for objects that hold each other: a check makes a million others, and it is a third of its time.

    Whatever holds nothing that holds it goes at once, as ever.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@rings_left_for_later()
def _together(runs: list[Run], progress: Progress) -> Checked:
    first, last, as_of = runs[0].first_day, runs[0].last_day, runs[0].as_of
    sites = [run.site for run in runs]
    _plan(sites, first, last, as_of)
    progress("sites read", 0, len(sites))
    table = judge_sites(sites, first, last, as_of)
    progress("dishes judged", len(table.dishes), len(table.dishes))
    with transaction.atomic():
        ours = {run.site_id: run for run in held(runs)}
        before = stood([run.site for run in ours.values()], first, last)
        stored = store_verdicts(table)
        _complete(ours, table, stored)
        stand(table, stored, ours)
        asked, news = ask_for(table, ours), tell(before, table, ours)
        for site, run in ours.items():
            run.counts |= {"referrals": len(asked[site]), "digest": asdict(news[site])}
        update(Run, _WRITTEN, ([getattr(run, name) for name in _WRITTEN] for run in ours.values()))
        record_all(entry_of(run, asked[run.site_id]) for run in ours.values())
    progress("sites checked", len(ours), len(sites))
    lost = {run.site: _LOST.format(site=run.site) for run in runs if run.site_id not in ours}
    return Checked(runs=list(ours.values()), news=news, busy=lost)


_LOST = "This check of {site} took so long that another has taken its place. Nothing was stored."
_WRITTEN = (
    *("id", "state", "finished_at", "inputs", "food_id", "panel_id"),
    *("sums", "result_hash", "same_as_id", "children_as_id", "counts"),
)


def _plan(sites: Sequence[Site], first: date, last: date, as_of: datetime) -> None:
    """Bring the plan into step. Days gone by stay as they were served."""
    by_day: dict[date, list[Site]] = {}
    for site in sites:
        by_day.setdefault(max(first, as_of.astimezone(site.zone).date()), []).append(site)
    for day, there in by_day.items():
        plan_all(sites=there, first=day, last=last)


def _complete(runs: dict[int, Run], table: Table, stored: Stored) -> None:
    """Fill in what the runs read and found."""
    food, now = table.larder.read(), timezone.now()
    earlier = _earlier(runs)
    for pk, run in runs.items():
        run.food, run.panel = food, stored.panel
        run.inputs = table.inputs[pk] | {"rules": [rule.id for rule in RULES]}
        sums = table.sums_of(pk)
        run.sums, run.result_hash = sums.plain, sums.hash
        run.counts = table.counts_of(pk)
        run.state, run.finished_at = Run.State.COMPLETE, now
        before = earlier.get(pk)
        if before and _says_the_same(before, run):
            run.same_as_id, run.children_as_id = before.same_as_id or before.pk, before.reads_of


def _earlier(runs: dict[int, Run]) -> dict[int, Run]:
    """Return the newest complete run of each site, by site."""
    newest = Run.objects.complete().filter(site=OuterRef("site")).order_by("-as_of", "-id")
    found = Run.objects.complete().filter(site__in=runs, pk=Subquery(newest.values("pk")[:1])).defer("inputs")
    return {run.site_id: run for run in found}


def _says_the_same(earlier: Run, run: Run) -> bool:
    return (earlier.result_hash, earlier.first_day, earlier.last_day) == (run.result_hash, run.first_day, run.last_day)


def entry_of(run: Run, asked: Sequence[Referral] = ()) -> Entry:
    """Return what the record of actions says of a run that has come to its end."""
    said: dict[str, Any] = {
        "trigger": run.trigger,
        "first": run.first_day,
        "last": run.last_day,
        "counts": run.counts,
        "result": run.result_hash,
    }
    if asked:
        said["asked"] = told_of(asked)
    return Entry(Verb.CHECKED, run, site=run.site, said=said)
