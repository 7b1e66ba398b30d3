"""The clock of a service under test, which can be moved while its processes run (see `late_settings`)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

FILE = "clock"
SETTINGS = "tests.services.faults.late_settings"
"""What a service needs as DJANGO_SETTINGS_MODULE to go by a moved clock."""


class Clock:
    """The hand by which a test moves the clock of the service with that data folder."""

    def __init__(self, data: Path) -> None:
        self._file = data / FILE
        self.move(timedelta())

    def move(self, by: timedelta) -> None:
        """Have the clock show the true time and so much more."""
        made = self._file.with_suffix(".new")
        made.write_text(str(by.total_seconds()))
        made.replace(self._file)

    def set(self, to: datetime) -> None:
        """Have the clock show that moment now, and go on from there."""
        self.move(to - datetime.now(UTC))


def shown(data: Path) -> datetime:
    """Return what the moved clock shows."""
    return datetime.now(UTC) + timedelta(seconds=float((data / FILE).read_text()))
