"""Several weeks of meals, asked for at once and worked out as one task outside the page."""

from __future__ import annotations

import logging
from datetime import date, timedelta
from functools import partial

from django.db import transaction
from django.utils import timezone
from kombu.exceptions import OperationalError as BrokerAway

from compliance.checks.wholemeals.keep import Worked, keep
from compliance.models import MealJob
from menus.models import Site
from roster.models import User

logger = logging.getLogger(__name__)

State = MealJob.State
DAY = timedelta(days=1)


class JobOpen(Exception):
    """Weeks of this site are being worked out already."""


@transaction.atomic
def ask(*, site: Site, monday: date, weeks: int, user: User) -> MealJob:
    """Ask for so many weeks from that Monday on, and return the request. The queue begins with it in a moment.

    Raises JobOpen while another request of the site is open, ValidationError for weeks that are too few or too many.
    The caller has made sure that the user may do so at the site.
    """
    Site.objects.select_for_update(no_key=True).get(pk=site.pk)  # two who ask at once see each other
    newest = newest_job(site)
    if newest and newest.is_open(timezone.now()):
        raise JobOpen(
            f"{newest.weeks} weeks from {newest.monday:%d %B} are being worked out at this moment. Wait for their end, "
            "then ask again."
        )
    job = MealJob(site=site, monday=monday, weeks=weeks, asked_by=user)
    job.full_clean()
    job.save()
    transaction.on_commit(lambda: _send(job.pk), robust=True)
    return job


def newest_job(site: Site) -> MealJob | None:
    """Return what was asked for last at the site, or None. One query."""
    return MealJob.objects.filter(site=site).select_related("site", "asked_by").first()


def work(job_id: int) -> None:
    """Work out what was asked for, and keep its plans. Whoever comes second finds it begun, and does nothing."""
    if not _moved(job_id, State.WAITING, State.READING, begun_at=timezone.now()):
        return
    job = MealJob.objects.select_related("site", "asked_by").get(pk=job_id)
    try:
        last = job.monday + timedelta(weeks=job.weeks) - DAY
        worked = Worked(job.site, job.monday, last, choosing=partial(_moved, job_id, State.READING, State.CHOOSING))
        with transaction.atomic():
            keep(worked, job.asked_by)
            _moved(job_id, State.CHOOSING, State.KEPT, ended_at=timezone.now())
    except Exception:
        _failed(job_id)
        raise


def _moved(job_id: int, before: MealJob.State, after: MealJob.State, **fields: object) -> bool:
    return bool(MealJob.objects.filter(pk=job_id, state=before).update(state=after, **fields))


def _failed(job_id: int) -> None:
    MealJob.objects.filter(pk=job_id).update(state=State.FAILED, ended_at=timezone.now())


def _send(job_id: int) -> None:
    from compliance.tasks import work_out_meals  # the task's module imports this one

    try:
        work_out_meals.delay(job_id)
    except BrokerAway:
        logger.warning(
            "The broker is away: the weeks of meals that were asked for cannot be worked out.", exc_info=True
        )
        _failed(job_id)
