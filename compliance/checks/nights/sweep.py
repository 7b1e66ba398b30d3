"""Find what was left lying: slices of workers that went away, messages that were lost, nights that nobody closed."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.conf import settings

from compliance.checks.claims import give_up
from compliance.checks.nights import letters
from compliance.checks.nights.work import give_back
from compliance.models import DeadLetter, Night, NightSlice, Run

CUT_OFF = "Whoever worked on this went away before it came to its end."


def sweep(now: datetime) -> list[int]:
    """Put back in line what nobody works on any more, and return the ids of the nights that can be closed.

    A message may still come that was taken for lost: the slice is then taken already, and nothing is done twice.
    """
    for part in NightSlice.objects.filter(state=NightSlice.State.RUNNING, lease_until__lt=now).select_related("night"):
        _take_back(part, now)
    patience = timedelta(seconds=settings.NIGHT_LEASE_SECONDS)
    unheard = NightSlice.objects.filter(state=NightSlice.State.WAITING, queued_at__lt=now - patience)
    unheard.update(queued_at=None)
    letters.settle_checked(now)
    still = NightSlice.objects.open().values("night")
    return list(Night.objects.under_way().exclude(pk__in=still).order_by("pk").values_list("pk", flat=True))


def _take_back(part: NightSlice, now: datetime) -> None:
    """Give up the checks that were under way in the slice, and the slice itself.

    One who is still at work on it, only without renewals, finds its checks given up and stores nothing.
    """
    running = Run.objects.filter(
        site__in=part.sites,
        state=Run.State.RUNNING,
        trigger=part.night.trigger,
        started_at__gte=part.started_at,
    )
    give_up(list(running), CUT_OFF)
    took_long = part.started_at and now - part.started_at > timedelta(seconds=settings.NIGHT_SLICE_SECONDS)
    give_back(part, DeadLetter.Reason.SLOW if took_long else DeadLetter.Reason.LOST, CUT_OFF)
