"""One slice of a night: claimed by one worker, carried out, and ended or given back."""

from __future__ import annotations

import logging
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db import connection, transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from compliance.checks.night import check_and_tell_all
from compliance.checks.nights import letters
from compliance.checks.nights.lease import renewed
from compliance.checks.nights.tries import FIRST_PAUSE, MOST_ATTEMPTS, TRANSIENT, pause
from compliance.checks.schedule import last_looked_at
from compliance.checks.slices import Checked, Progress, silent
from compliance.models import DeadLetter, NightSlice, Run
from compliance.operations.about import about
from menus.models import Site

logger = logging.getLogger(__name__)

State, Reason = NightSlice.State, DeadLetter.Reason


def work(pk: int, progress: Progress = silent) -> NightSlice | None:
    """Carry out one slice, and return it as it is then: ended, or waiting to be tried again. None: it is another's.

    A message that comes twice does nothing the second time: the first has taken the slice, or ended it. Sites that were
    checked since the night was due are left out, so that a slice that is tried again does only what is left. A site
    that fails is kept as a dead letter, and the others go on. What is transient, and sites that somebody else is
    checking, are given back and tried again later.
    """
    part = _claim(pk, timezone.now())
    if part is None:
        return None
    with about(night=part.night_id, slice=part.pk):
        try:
            with renewed(
                lambda: _renew(part), every=settings.NIGHT_LEASE_SECONDS / 3, at_most=settings.NIGHT_SLICE_SECONDS
            ):
                return _carry_out(part, progress)
        except TRANSIENT as error:
            logger.warning("%s was given back: database or broker was away.", part, exc_info=True)
            if not connection.in_atomic_block:  # else it would be closed whatever its state
                connection.close_if_unusable_or_obsolete()
            return give_back(part, Reason.AWAY, f"{type(error).__name__}: {error}")
        except Exception as error:
            logger.exception("%s failed as a whole.", part)
            return give_back(part, Reason.ERROR, f"{type(error).__name__}: {error}")
        except BaseException:  # Ctrl-C, or the worker is told to leave at once: no fault of the slice's
            _wait(part, attempts=F("attempts") - 1)
            raise


def give_back(part: NightSlice, reason: DeadLetter.Reason, error: str) -> NightSlice | None:
    """Have the slice tried again after a rest; return it so, or as failed when it was tried often enough.

    Does nothing, and returns None, when it is another's by now.
    """
    now = timezone.now()
    if part.attempts < MOST_ATTEMPTS:
        return _wait(part, not_before=now + pause(part.attempts, FIRST_PAUSE, times=4), error=error)
    sites = [site.pk for site in left(part, now)]
    with transaction.atomic():  # a slice that failed without a letter would be nobody's
        ended = _end(part, State.FAILED, _counts(part, busy=0, failed=len(sites)), error)
        if ended:
            letters.bury(letters.SLICE, sites, reason, error, attempts=part.attempts, part=part)
    return ended


def left(part: NightSlice, now: datetime) -> list[Site]:
    """Return the sites of the slice that no check has looked at since the night was due, over its days. Two queries."""
    night = part.night
    sites = Site.objects.in_bulk(part.sites)
    seen = Run.objects.complete().filter(site__in=sites, as_of__gte=night.due_at)
    checked = set()
    for pk, first, last in seen.values_list("site", "first_day", "last_day"):
        zone = sites[pk].zone
        from_day = night.first_day or now.astimezone(zone).date()
        last_day = last_looked_at(night.first_day or night.due_at.astimezone(zone).date())
        if first <= from_day and last >= last_day:
            checked.add(pk)
    return [sites[pk] for pk in part.sites if pk in sites and pk not in checked]


def _carry_out(part: NightSlice, progress: Progress) -> NightSlice | None:
    night = part.night
    sites = left(part, timezone.now())
    checked = Checked()
    if sites:
        checked = check_and_tell_all(sites, Run.Trigger(night.trigger), first_day=night.first_day, progress=progress)
    for run, error in checked.failed:
        letters.bury(letters.SLICE, [run.site_id], Reason.ERROR, f"{type(error).__name__}: {error}", part=part)
    busy = [site.pk for site in checked.busy]
    if busy and night.trigger == Run.Trigger.NIGHT:  # whoever asks by hand is told, and asks again
        if part.attempts < MOST_ATTEMPTS:
            return give_back(part, Reason.BUSY, " ".join(checked.busy.values()))
        letters.bury(letters.SLICE, busy, Reason.BUSY, "", attempts=part.attempts, part=part)
    return _end(part, State.DONE, _counts(part, busy=len(busy), failed=len(checked.failed)))


def _claim(pk: int, now: datetime) -> NightSlice | None:
    """Take the slice, unless somebody has it, it has ended or it rests."""
    mine = uuid4()
    taken = (
        NightSlice.objects.rested(now)
        .filter(pk=pk)
        .update(
            state=State.RUNNING,
            claim=mine,
            lease_until=_lease(now),
            started_at=now,
            attempts=F("attempts") + 1,
        )
    )
    return NightSlice.objects.select_related("night").get(pk=pk) if taken else None


def _ours(part: NightSlice) -> QuerySet[NightSlice]:
    """The slice while it is in our hands; none once it was given to somebody else."""
    return NightSlice.objects.filter(pk=part.pk, claim=part.claim, state=State.RUNNING)


def _renew(part: NightSlice) -> bool:
    return bool(_ours(part).update(lease_until=_lease(timezone.now())))


def _lease(now: datetime) -> datetime:
    return now + timedelta(seconds=settings.NIGHT_LEASE_SECONDS)


def _end(part: NightSlice, state: NightSlice.State, counts: dict[str, int], error: str = "") -> NightSlice | None:
    """Note what came of the slice."""
    return _let_go(part, state=state, counts=counts, error=error, finished_at=timezone.now())


def _wait(part: NightSlice, **changed: Any) -> NightSlice | None:
    """Put the slice back in line."""
    return _let_go(part, state=State.WAITING, queued_at=None, **changed)


def _let_go(part: NightSlice, **changed: Any) -> NightSlice | None:
    """Write what became of the slice; None when it was taken from us meanwhile, and is another's to write of."""
    if not _ours(part).update(claim=None, lease_until=None, **changed):
        logger.warning("%s took so long that it was given to somebody else.", part)
        return None
    part.refresh_from_db()
    return part


def _counts(part: NightSlice, *, busy: int, failed: int) -> dict[str, int]:
    return {"checked": len(part.sites) - busy - failed, "busy": busy, "failed": failed}
