"""Doors from the queue into the service: each takes an id and calls what does the work."""

from __future__ import annotations

import logging
from datetime import datetime
from typing import Any

from celery import Task, shared_task
from celery.signals import beat_init
from django.utils import timezone

from compliance.checks.escalation import escalate
from compliance.checks.incidentmail import tell_of
from compliance.checks.night import check_and_tell
from compliance.checks.pointer import put_on_record
from compliance.checks.recheck import checked_since, unread_changes
from compliance.checks.retention import purge_all
from compliance.checks.run import SiteBusy
from compliance.checks.schedule import failed_lately, missed, schedule_all
from compliance.models import Incident, Run
from menus.models import Site
from menus.services.photos import discard_unused
from roster.models import Child

logger = logging.getLogger(__name__)


@shared_task
def nightly(site_id: int) -> None:
    """Check the site's coming days. Leaves quietly when the site is being checked, and when it is gone."""
    site = Site.objects.filter(pk=site_id).first()
    if site is None:
        logger.info("There is no site %s any more; its nightly check is left out.", site_id)
        return
    try:
        check_and_tell(site=site, trigger=Run.Trigger.NIGHT)
    except SiteBusy as busy:
        logger.info("%s", busy)


@shared_task(bind=True, default_retry_delay=20, max_retries=None)
def recheck(self: Task, site_id: int, changed_at: str) -> None:
    """Check the site again after a change, unless a check since then has read it. Comes back while the site is busy."""
    site = Site.objects.filter(pk=site_id).first()
    if site is None or checked_since(site, datetime.fromisoformat(changed_at)):
        return
    try:
        check_and_tell(site=site, trigger=Run.Trigger.CHANGE)
    except SiteBusy as busy:
        raise self.retry(exc=busy) from busy


@shared_task
def catch_up() -> None:
    """Start what should have been started: nights that the machine slept through or that failed, changes unread."""
    now = timezone.now()
    for site in Site.objects.all():
        if failed_lately(site, now):
            continue
        if missed(site, now):
            nightly.delay(site.pk)
        elif unread_changes(site):
            recheck.delay(site.pk, now.isoformat())


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
def tell_of_incident(incident_id: int) -> None:
    """Mail those who look after incidents of the site."""
    sent = tell_of(Incident.objects.select_related("site").get(pk=incident_id))
    logger.info("%s people were told of incident %s.", sent, incident_id)


@shared_task
def purge_record() -> None:
    """Empty the entries of the record of actions that are past their time."""
    logger.info("%s entries of the record were emptied.", purge_all(timezone.now()))


@beat_init.connect
def start_schedule(**_: Any) -> None:
    """Bring the schedule in step when beat starts, and catch up what was missed while it was away."""
    schedule_all()
    catch_up.delay()
