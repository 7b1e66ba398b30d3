"""When each site's nightly check is due, and which sites still wait for theirs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.conf import settings
from django_celery_beat.models import PeriodicTask

from compliance.models import CheckedDay, Run
from menus.models import Delivery, Site

REST = timedelta(hours=1)
"""How long a site rests whose check failed."""

OLD_TASK = "compliance.tasks.nightly"
"""What beat was once told to start for each site, by a row of its own."""


@dataclass(frozen=True, slots=True)
class Window:
    """What a site's check is measured by: the moment it was due, today there, the last day that it had to look at."""

    due_at: datetime
    today: date
    last_day: date


def last_looked_at(today: date) -> date:
    """Return the last day that the checks of a site look at, by its own today."""
    return today + timedelta(days=settings.NIGHTLY_WINDOW_DAYS - 1)


def hour(site: Site) -> int:
    """Return the hour of the nightly check, on the site's clock."""
    return settings.NIGHTLY_HOUR if site.nightly_hour is None else site.nightly_hour


def last_due(site: Site, now: datetime) -> datetime:
    """Return the latest moment up to now, in UTC, at which the nightly check of the site was due.

    Every day of the site's clock has exactly one: an hour that is skipped counts from before the change, and of one
    that comes twice the first counts (PEP 495, fold=0).
    """
    here = now.astimezone(site.zone).date()
    today = _due_on(here, site)
    return today if today <= now else _due_on(here - timedelta(days=1), site)


def window(site: Site, now: datetime) -> Window:
    """Return what the site's last due check is measured by."""
    due_at = last_due(site, now)
    return Window(due_at, now.astimezone(site.zone).date(), last_looked_at(due_at.astimezone(site.zone).date()))


def unchecked(now: datetime, sites: Iterable[Site] | None = None) -> dict[datetime, list[Site]]:
    """Return the sites whose last due check has not come to its end, by the moment it was due, the earliest first.

    Never begun, cut off or failed: only what stands counts. Those that share a kitchen stand beside each other. Three
    queries, however many sites there are.
    """
    there = list(Site.objects.order_by("pk") if sites is None else sites)
    windows = {site.pk: window(site, now) for site in there}
    days = {day for each in windows.values() for day in (each.today, each.last_day)}
    standing = CheckedDay.objects.filter(day__in=days, run__state=Run.State.COMPLETE)
    read = {(site, day): at for site, day, at in standing.values_list("site", "day", "run__as_of")}
    waiting: dict[datetime, list[Site]] = {}
    for site in _by_kitchen(there):
        its = windows[site.pk]
        if any((at := read.get((site.pk, day))) is None or at < its.due_at for day in (its.today, its.last_day)):
            waiting.setdefault(its.due_at, []).append(site)
    return dict(sorted(waiting.items()))


def missed(site: Site, now: datetime) -> bool:
    """Tell whether the last due check of the site has not come to its end."""
    return bool(unchecked(now, [site]))


def failed_lately(now: datetime) -> set[int]:
    """Return the ids of the sites of which a check failed within the last hour: at once it would only fail again."""
    failed = Run.objects.filter(state=Run.State.FAILED, started_at__gt=now - REST)
    return set(failed.order_by().values_list("site", flat=True))


def drop_old_rows() -> int:
    """Remove the rows by which beat once started each site's check, and return how many there were."""
    dropped, _ = PeriodicTask.objects.filter(task=OLD_TASK).delete()
    return int(dropped)


def _due_on(day: date, site: Site) -> datetime:
    # Reckoned in UTC: an hour that the clock skips that night compares with nothing.
    return datetime.combine(day, time(hour(site)), site.zone).astimezone(UTC)


def _by_kitchen(sites: list[Site]) -> list[Site]:
    """Order sites by who cooks for them, so that what is cooked once is read and judged for few slices."""
    cooked = Delivery.objects.standing().order_by("-kitchen").values_list("site", "kitchen")
    kitchens = dict(cooked)
    return sorted(sites, key=lambda site: (kitchens.get(site.pk, site.pk), site.pk))
