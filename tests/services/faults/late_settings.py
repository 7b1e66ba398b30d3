"""The service's settings, under a clock that a test moves while it runs.

Our code asks `django.utils.timezone` what time it is; beat asks Celery and its rows, see `late_beat`. What measures how
long something takes (`time.monotonic`) is left alone, as it is when somebody sets the clock of a machine.
"""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from compliance.config.settings import *  # noqa: F403
from compliance.config.settings import DATA_DIR
from tests.services.faults.clock import shown

CELERY_BEAT_SCHEDULER = "tests.services.faults.late_beat:LateScheduler"


def _now() -> datetime:
    return shown(DATA_DIR)


timezone.now = _now
