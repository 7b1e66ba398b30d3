"""The end of a night: what came of it, and one mail for each person whom it concerns."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from compliance.checks.digest import tell_of
from compliance.models import Night, NightSlice, Run

FATES = ("checked", "busy", "failed")


def close(pk: int, now: datetime) -> Night | None:
    """Close the night and write its mails, in one transaction; None while a slice is open, or when it was closed.

    Whoever ends the last slice has this called. A group of tasks with a callback would need a store of results beside
    the queue, and the callback would be lost with it; here the rows say whether all is done, and a closing that got
    lost is found by `sweep`. The mails only wait in the outbox, so that no mail server holds up the end of a night; nor
    does a mail that cannot be written, since an open night keeps its sites from the next.
    """
    with transaction.atomic():
        night = Night.objects.select_for_update().under_way().filter(pk=pk).first()
        if night is None or night.slices.open().exists():
            return None
        counts = Counter[str]()
        for part in night.slices.all():
            counts.update(part.counts)
        night.counts = {fate: counts[fate] for fate in FATES}
        whole = not counts["busy"] and not counts["failed"]
        night.state = Night.State.COMPLETE if whole else Night.State.PARTIAL
        night.closed_at = now
        night.save(update_fields=["counts", "state", "closed_at"])
        tell_of(runs_of(night).only("pk"))
    return night


def stop(night: Night, now: datetime) -> Night | None:
    """End a night by the word of whoever began it: what waits is not done any more. What runs comes to its end."""
    for part in night.slices.filter(state=NightSlice.State.WAITING):
        counts = {"checked": 0, "busy": 0, "failed": len(part.sites)}
        NightSlice.objects.filter(pk=part.pk, state=NightSlice.State.WAITING).update(
            state=NightSlice.State.FAILED, finished_at=now, error="It was stopped by hand.", counts=counts
        )
    return close(night.pk, now)


def runs_of(night: Night) -> QuerySet[Run]:
    """Return the complete checks that the night brought."""
    sites = {site for part in night.slices.all() for site in part.sites}
    return Run.objects.complete().filter(site__in=sites, trigger=night.trigger, started_at__gte=night.started_at)
