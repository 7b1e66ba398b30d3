"""When each site's nightly check is due, and the rows by which Celery beat starts it."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time, timedelta

from django.conf import settings
from django.db import transaction
from django_celery_beat.models import CrontabSchedule, PeriodicTask

from compliance.models import Run
from menus.models import Site

TASK = "compliance.tasks.nightly"
REST = timedelta(hours=1)


def hour(site: Site) -> int:
    """Return the hour of the nightly check, on the site's clock."""
    return settings.NIGHTLY_HOUR if site.nightly_hour is None else site.nightly_hour


@transaction.atomic
def schedule_site(*, site: Site) -> None:
    """Have beat start the site's nightly check at its hour, in its time zone. Again after either changed."""
    crontab, _ = CrontabSchedule.objects.get_or_create(
        minute="0", hour=str(hour(site)), day_of_month="*", month_of_year="*", day_of_week="*", timezone=site.time_zone
    )
    PeriodicTask.objects.update_or_create(
        name=_name(site),
        defaults={
            "task": TASK,
            "args": json.dumps([site.pk]),
            "crontab": crontab,
            "description": f"Nightly check of {site}, at {hour(site):02d}:00 {site.time_zone}.",
        },
    )


def schedule_all() -> None:
    """Bring every site's row in step with the settings, which may have changed since the last start."""
    for site in Site.objects.all():
        schedule_site(site=site)


def last_due(site: Site, now: datetime) -> datetime:
    """Return the latest moment up to now, in UTC, at which the nightly check of the site was due."""
    here = now.astimezone(site.zone).date()
    today = _due_on(here, site)
    return today if today <= now else _due_on(here - timedelta(days=1), site)


def missed(site: Site, now: datetime) -> bool:
    """Tell whether the last due check of the site has not come to its end: never begun, cut off or failed."""
    due = last_due(site, now)
    day = due.astimezone(site.zone).date()
    last_day = day + timedelta(days=settings.NIGHTLY_WINDOW_DAYS - 1)
    read = Run.objects.complete().filter(site=site, as_of__gte=due)
    return not read.filter(first_day__lte=now.astimezone(site.zone).date(), last_day__gte=last_day).exists()


def failed_lately(site: Site, now: datetime) -> bool:
    """Tell whether a check of the site failed within the last hour: trying again at once would only fail again."""
    return Run.objects.filter(site=site, state=Run.State.FAILED, started_at__gt=now - REST).exists()


def _due_on(day: date, site: Site) -> datetime:
    # Reckoned in UTC: an hour that the clock skips that night compares with nothing.
    return datetime.combine(day, time(hour(site)), site.zone).astimezone(UTC)


def _name(site: Site) -> str:
    return f"nightly check of site {site.pk}"
