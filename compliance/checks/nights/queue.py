"""Which slices may go into the queue: a few at a time, so that nothing else has to wait behind a whole night."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import transaction

from compliance.models import Night, NightSlice


def take(now: datetime) -> list[int]:
    """Mark the slices whose turn it is as queued, and return their ids; whoever asked puts them into the queue.

    At most NIGHT_SLICES_AT_ONCE are in the queue or in somebody's hands, those of the earliest night first. The nights
    under way are locked meanwhile, or two who end a slice at the same time would each see the same free place. A
    message that does not arrive after all is found by `sweep`.
    """
    with transaction.atomic():
        nights = list(Night.objects.select_for_update().under_way().order_by("pk").values_list("pk", flat=True))
        room = settings.NIGHT_SLICES_AT_ONCE - NightSlice.objects.under_way().count()
        if not nights or room <= 0:
            return []
        in_line = NightSlice.objects.in_line(now).filter(night__in=nights).order_by("night__due_at", "night", "number")
        pks = list(in_line.values_list("pk", flat=True)[:room])
        NightSlice.objects.filter(pk__in=pks).update(queued_at=now)
    return pks
