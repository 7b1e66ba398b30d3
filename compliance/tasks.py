"""Doors from the queue into the service: each takes an id and calls what does the work."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from typing import Any

from celery import Task, shared_task
from celery.signals import beat_init
from django.utils import timezone
from kombu.exceptions import OperationalError as BrokerAway

from compliance.checks.changes import CHECK_FAILED, FIRST_PAUSE, check_changes, note_site, note_unread, noted_ahead
from compliance.checks.digest import send_late
from compliance.checks.escalation import escalate
from compliance.checks.nights import start as nights
from compliance.checks.nights.close import close
from compliance.checks.nights.letters import RECHECK, bury
from compliance.checks.nights.queue import take
from compliance.checks.nights.sweep import sweep
from compliance.checks.nights.tries import TRANSIENT, pause
from compliance.checks.nights.work import work
from compliance.checks.pointer import put_on_record
from compliance.checks.prune import prune
from compliance.checks.retention import purge_all
from compliance.checks.schedule import drop_old_rows
from compliance.checks.sending import send_due
from compliance.checks.wholemeals import job as meal_jobs
from compliance.models import DeadLetter, NightSlice
from menus.models import Site
from menus.services.photos import discard_unused
from roster.models import Child

logger = logging.getLogger(__name__)


@shared_task
def start_nights() -> None:
    """Begin the nights that are due, late ones too, and put their first slices into the queue."""
    for night in nights.start_nights(timezone.now()):
        logger.info("%s was begun, for %s slices.", night, night.slices.count())
    _send()


@shared_task
def run_slice(slice_id: int) -> None:
    """Carry out one slice of a night; the last one has the night closed. A second delivery does nothing."""
    part = work(slice_id)
    if part and part.not_before and part.state == NightSlice.State.WAITING:
        _queue(run_slice, [part.pk], (part.not_before - timezone.now()).total_seconds())
    elif part and not part.night.slices.open().exists():
        _queue(close_night, [part.night_id])
    _send()


@shared_task
def close_night(night_id: int) -> None:
    """Close a night whose slices have ended, and remove what no page reads any more."""
    if night := close(night_id, timezone.now()):
        logger.info("%s was closed: %s.", night, night.counts)
        prune(timezone.now())


@shared_task
def sweep_nights() -> None:
    """Find slices, messages and nights that were left lying."""
    _queue(close_night, sweep(timezone.now()))
    _send()


def _send() -> None:
    """Put the slices whose turn it is into the queue."""
    _queue(run_slice, take(timezone.now()))


def _queue(task: Task, ids: Iterable[int], seconds: float = 0) -> None:
    """Have the task done for each id, after so long. What does not get into the queue is found by `sweep_nights`."""
    try:
        for pk in ids:
            task.apply_async((pk,), countdown=max(0, seconds))
    except BrokerAway:
        logger.warning("The broker is away. The night goes on when it is back.", exc_info=True)


@shared_task(bind=True, max_retries=None)
def recheck(self: Task, site_id: int | None = None, changed_at: str = "") -> None:
    """Check what the changes noted so far bear on, and the site, when one is named. One message serves them all.

    Comes back while a site is being checked by somebody else, a note is of a clock ahead of ours, or the database is
    away; the notes wait meanwhile.
    """
    if site_id is not None:
        note_site(site_id)
    try:
        checked = check_changes()
    except TRANSIENT as away:
        raise self.retry((), {}, exc=away, countdown=_pause(self)) from away
    bury(RECHECK, (run.site_id for run, _ in checked.failed), DeadLetter.Reason.ERROR, CHECK_FAILED)
    if checked.busy or noted_ahead():
        raise self.retry((), {}, countdown=_pause(self))  # what was named is noted by now


def _pause(task: Task) -> float:
    return pause(task.request.retries + 1, FIRST_PAUSE).total_seconds()


@shared_task
def work_out_meals(job_id: int) -> None:
    """Work out the weeks of meals that somebody asked for. A second delivery does nothing."""
    meal_jobs.work(job_id)


@shared_task
def catch_up() -> None:
    """Check again where changes are unread, whose message never came. Nights that were missed: `start_nights`."""
    if note_unread(timezone.now()):
        recheck.delay()


@shared_task
def escalate_referrals() -> None:
    """Tell those responsible of questions still open as their serving draws near."""
    now = timezone.now()
    for site in Site.objects.all():
        escalate(site, now)


@shared_task
def discard_unused_photos() -> None:
    """Discard the photos of labels that were taken and never used."""
    count = discard_unused(now=timezone.now())
    logger.info("%s unused photos were discarded.", count)


@shared_task
def record_reading(child_id: int, by: int, read_at: str) -> None:
    """Put on record that somebody read where a child's emergency papers are."""
    put_on_record(Child.objects.get(pk=child_id), by, read_at)


@shared_task
def send_mail() -> None:
    """Send what is due in the outbox."""
    done = send_due(timezone.now())
    if done.sent:
        logger.info("%s mails were sent.", done.sent)


@shared_task
def tell_late() -> None:
    """Put into the outbox what a process that died in between did not."""
    if count := send_late(timezone.now()):
        logger.warning("%s mails tell of checks that nobody had told.", count)


@shared_task
def purge_record() -> None:
    """Empty the entries of the record of actions that are past their time."""
    logger.info("%s entries of the record were emptied.", purge_all(timezone.now()))


@beat_init.connect
def start_schedule(**_: Any) -> None:
    """Catch up, when beat starts, what was missed while it was away."""
    drop_old_rows()
    start_nights.delay()
    catch_up.delay()
