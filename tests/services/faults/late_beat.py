"""Beat's scheduler under the moved clock. Imported by beat alone: workers wait for a retry by the machine's clock."""

from __future__ import annotations

from datetime import datetime

from celery import Celery
from django.utils import timezone
from django_celery_beat.schedulers import DatabaseScheduler, ModelEntry


class LateEntry(ModelEntry):
    """A row of the schedule, which remembers by the moved clock when it last ran."""

    def _default_now(self) -> datetime:
        return timezone.now()


class LateScheduler(DatabaseScheduler):
    """The scheduler of such rows."""

    Entry = LateEntry


def _now(app: Celery) -> datetime:
    return timezone.now().astimezone(app.timezone)


Celery.now = _now  # type: ignore[method-assign]
