"""Begin a night: find who is due, and insert the row that only one can insert."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import Q
from django.utils import timezone

from compliance.checks.schedule import REST, unchecked
from compliance.models import DeadLetter, Night, NightSlice, Run
from menus.models import Site

logger = logging.getLogger(__name__)

LOOKS_BACK = timedelta(hours=26)
"""The last moment at which a check was due is never longer ago: a day has 25 hours at most."""


def start_nights(now: datetime) -> list[Night]:
    """Begin a night for every moment at which sites were due that have not been checked since, and return the nights.

    Late ones too: a machine that was off catches up. What was begun before is read first, and then who is due. Whoever
    else begins the same night meanwhile either is seen, or inserts the same row and is the only one who does. The
    queries do not grow with the sites; there are a few more for each moment at which some were due.
    """
    tried = _tried(now)
    begun = []
    for due_at, sites in unchecked(now).items():
        turn = tried.turns.get(due_at, 0) + 1
        night = begin(due_at=due_at, turn=turn, trigger=Run.Trigger.NIGHT, sites=tried.left(sites, due_at, now))
        begun += [night] if night else []
    return begun


def start_by_hand(sites: Sequence[Site], first_day: date | None = None) -> Night | None:
    """Begin a night for these sites now, by whoever asked for it. None: somebody did in the same microsecond."""
    return begin(due_at=timezone.now(), trigger=Run.Trigger.HAND, sites=sites, first_day=first_day)


def begin(
    *,
    due_at: datetime,
    trigger: Run.Trigger,
    sites: Sequence[Site],
    turn: int = 1,
    first_day: date | None = None,
) -> Night | None:
    """Insert a night of these sites with its slices; None where there are no sites, or somebody was first."""
    if not sites:
        return None
    zones = {site.time_zone for site in sites}
    try:
        with transaction.atomic():
            night = Night.objects.create(
                due_at=due_at,
                turn=turn,
                trigger=trigger,
                first_day=first_day,
                zone_hint=zones.pop() if len(zones) == 1 else "",
            )
            NightSlice.objects.bulk_create(
                NightSlice(night=night, number=number, sites=part) for number, part in enumerate(_parts(sites), start=1)
            )
    except IntegrityError:
        logger.info("The night due at %s, turn %s, was started by somebody else.", due_at, turn)
        return None
    return night


def _parts(sites: Sequence[Site]) -> list[list[int]]:
    """Divide sites into slices. One that may have taken its worker down stands alone, and takes nobody else along."""
    ended_badly = DeadLetter.objects.unsettled().filter(reason__in=(DeadLetter.Reason.LOST, DeadLetter.Reason.SLOW))
    alone = set(ended_badly.values_list("site", flat=True))
    size = settings.NIGHT_SLICE_SITES
    others = [site.pk for site in sites if site.pk not in alone]
    parts = [others[at : at + size] for at in range(0, len(others), size)]
    return parts + [[site.pk] for site in sites if site.pk in alone]


@dataclass(slots=True)
class _Tried:
    """What earlier turns of the same nights did, and who is under way."""

    under_way: set[int] = field(default_factory=set)
    turns: dict[datetime, int] = field(default_factory=dict)
    rests: dict[tuple[datetime, int], datetime] = field(default_factory=dict)

    def left(self, sites: Sequence[Site], due_at: datetime, now: datetime) -> list[Site]:
        """Return those of the sites that are neither under way nor resting."""
        return [
            site for site in sites if site.pk not in self.under_way and self.rests.get((due_at, site.pk), now) <= now
        ]


def _tried(now: datetime) -> _Tried:
    """Read what was begun. A site that could not be checked rests, each time twice as long. One query."""
    tried = _Tried()
    lately = Q(night__trigger=Run.Trigger.NIGHT, night__due_at__gte=now - LOOKS_BACK)
    slices = NightSlice.objects.filter(lately | Q(night__state=Night.State.RUNNING)).select_related("night")
    for each in slices.order_by("night__turn"):
        night = each.night
        if night.state == Night.State.RUNNING:
            tried.under_way |= set(each.sites)
        if night.trigger == Run.Trigger.NIGHT:
            tried.turns[night.due_at] = max(night.turn, tried.turns.get(night.due_at, 0))
            if night.closed_at:
                rested = night.closed_at + REST * 2 ** (night.turn - 1)
                tried.rests |= {(night.due_at, site): rested for site in each.sites}
    return tried
