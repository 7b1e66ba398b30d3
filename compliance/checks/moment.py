"""The moment of a check, which never goes back: facts are read by it, and the newest check is told by it."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils import timezone

from compliance.models import Run

SET_BACK = timedelta(hours=3)
"""By so much a clock may have been set back. More was no correction: checks then wait until somebody sets it right."""


def moment() -> datetime:
    """Return now, or the moment of the last check begun where the clock was set back since. One query.

    By a clock that was set back an hour, every check of the hour before would be newer than what is checked now, and a
    new label would go unread until the hour has passed.
    """
    now = timezone.now()
    last = Run.objects.order_by("-pk").values_list("as_of", flat=True).first()
    return last if last and now < last <= now + SET_BACK else now
