"""For which times a treat may be checked."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.core.exceptions import ValidationError

LATE = timedelta(minutes=15)
"""How long ago a food may have been handed out and still be checked as if it were now."""

AHEAD = timedelta(days=14)
"""How far ahead an answer may be asked for: labels, rosters and restrictions change."""


def require_near(moment: datetime, now: datetime) -> None:
    """Raise ValidationError, code `past` or `far-ahead`, for a moment for which an answer would be no help."""
    if moment < now - LATE:
        raise ValidationError(
            "%(moment)s is past, and a check cannot call back what was handed out. Choose a time to come. If a child "
            "ate it and seems unwell, follow the child's own emergency plan and call emergency services at once.",
            code="past",
            params={"moment": f"{moment:%A %d %B, %H:%M}"},
        )
    if moment > now + AHEAD:
        raise ValidationError(
            "%(moment)s is more than %(days)s days ahead, and labels and classes change until then. "
            "Check again nearer the day.",
            code="far-ahead",
            params={"moment": f"{moment:%A %d %B %Y}", "days": AHEAD.days},
        )
