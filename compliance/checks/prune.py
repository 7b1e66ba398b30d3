"""Throw away what no page reads any more: what was found on days long gone, and what nothing points to."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Exists, Max, Min, Model, OuterRef, Q, QuerySet, Subquery

from compliance.checks.prunelock import may_prune
from compliance.models import (
    Announcement,
    CheckedDay,
    DeadLetter,
    DishVerdicts,
    FoodRead,
    Incident,
    Night,
    OutgoingMail,
    Panel,
    PreparedDish,
    Run,
    RunRestriction,
    ServedDish,
)
from menus.models import Site

AT_ONCE = 2_000
"""Rows of one transaction: short enough that a check which waits for it does not notice."""

LEAST_DAYS = 60
"""However little is to be kept: a reaction may be written down, and a week looked into, some weeks afterwards."""

REST = timedelta(days=2)
"""A dish younger than this stays, pointed to or not: what is stored ahead of the check that will point to it."""

PATIENCE = timedelta(minutes=2)
"""How long to wait for checks to come to an end, all in all; after that the next night goes on."""

LOOKED_BACK = timedelta(days=14)
"""For so long after its last day a panel is looked through again, in case that nights were missed."""

Find = Callable[[], QuerySet[Any]]


@dataclass(slots=True)
class Pruned:
    """How many rows went, by table; `whole` is False when checks left no time for all of it."""

    rows: dict[str, int] = field(default_factory=dict)
    whole: bool = True


class _Busy(Exception):
    """Checks hold what is stored, and go on holding it."""


def prune(now: datetime, patience: timedelta = PATIENCE) -> Pruned:
    """Throw away what no page reads any more, in short transactions beside running checks. Twice does no harm.

    Days older than KEEP_CHECKS_DAYS go with all that was found on them (0: none go), except what an open incident may
    need. Incidents, announcements and the record of actions keep what they say.
    """
    pruned, until = Pruned(), time.monotonic() + patience.total_seconds()
    try:
        for table, find in _steps(now):
            name = str(table._meta.model_name)
            pruned.rows[name] = pruned.rows.get(name, 0) + _drop(table, find, until)
    except _Busy:
        pruned.whole = False
    return pruned


def kept_from(now: datetime) -> date | None:
    """Return the first day of which everything is kept; None: all are kept."""
    if not settings.KEEP_CHECKS_DAYS:
        return None
    oldest = now - timedelta(days=max(settings.KEEP_CHECKS_DAYS, LEAST_DAYS))
    needed = Incident.objects.needed_from()
    return (min(oldest, needed) if needed else oldest).date()


def _steps(now: datetime) -> Iterator[tuple[type[Model], Find]]:
    """Yield what goes, in the order in which it stops being pointed to."""
    first = kept_from(now)
    if first:
        yield ServedDish, lambda: ServedDish.objects.filter(serving__date__lt=first)
        yield CheckedDay, lambda: CheckedDay.objects.filter(day__lt=first)
    yield RunRestriction, _restrictions
    if first:
        yield Run, lambda: _runs(first)
    for panel in _panels_gone_by(now.date()):
        yield DishVerdicts, partial(_verdicts, panel)
    yield PreparedDish, lambda: _dishes(now - REST)
    yield Panel, _panels
    yield FoodRead, lambda: FoodRead.objects.exclude(Exists(Run.objects.filter(food=OuterRef("pk"))))
    if first:
        yield (
            OutgoingMail,
            lambda: OutgoingMail.objects.filter(Q(sent_at__date__lt=first) | Q(given_up_at__date__lt=first)),
        )
        yield DeadLetter, lambda: DeadLetter.objects.filter(settled_at__date__lt=first)
        yield Night, lambda: Night.objects.filter(closed_at__date__lt=first)


def _drop(table: type[Model], find: Find, until: float) -> int:
    """Delete what is found, some rows at a time, each time found anew. Returns how many."""
    dropped = 0
    while True:
        with transaction.atomic():
            if may_prune():
                rows = list(find().order_by("pk").values_list("pk", flat=True)[:AT_ONCE])
                if not rows:
                    return dropped
                table._default_manager.filter(pk__in=rows).only("pk").delete()
                dropped += len(rows)
                continue
        if time.monotonic() > until:
            raise _Busy
        time.sleep(0.2)


def _restrictions() -> QuerySet[RunRestriction]:
    """What runs read, of some of those under which no standing run's reading is stored (see `Run.reads_of`)."""
    speaks = Run.objects.filter(Exists(CheckedDay.objects.filter(run=OuterRef("pk"))) | Q(pk__in=_newest()))
    stored = Run.objects.filter(Exists(RunRestriction.objects.filter(run=OuterRef("pk"))))
    for under in (
        speaks.filter(children_as=OuterRef("pk")),
        speaks.filter(children_as=None, same_as=OuterRef("pk")),
        speaks.filter(children_as=None, same_as=None, pk=OuterRef("pk")),
    ):
        stored = stored.exclude(Exists(under))
    return RunRestriction.objects.filter(run__in=list(stored.order_by("pk").values_list("pk", flat=True)[:AT_ONCE]))


def _newest() -> list[int]:
    """The newest complete run of each site: the next one is compared with it, whatever day it spoke for."""
    runs = Run.objects.complete().filter(site=OuterRef("pk")).order_by("-as_of", "-id")
    sites = Site.objects.annotate(newest=Subquery(runs.values("pk")[:1])).exclude(newest=None).order_by()
    return list(sites.values_list("newest", flat=True))


def _runs(first: date) -> QuerySet[Run]:
    """Runs that came to an end before that day, and on which nothing rests."""
    ended = Run.objects.exclude(state=Run.State.RUNNING).filter(as_of__date__lt=first).exclude(pk__in=_newest())
    for rests in (
        CheckedDay.objects.filter(run=OuterRef("pk")),
        Announcement.objects.filter(run=OuterRef("pk")),
        Run.objects.filter(same_as=OuterRef("pk")),
        Run.objects.filter(children_as=OuterRef("pk")),
    ):
        ended = ended.exclude(Exists(rests))
    return ended


def _panels_gone_by(today: date) -> list[int]:
    """Panels that speak for no day from yesterday on, and not only for days that were looked through long ago."""
    spoken = Run.objects.filter(panel=OuterRef("pk")).order_by().values("panel").annotate(last=Max("days__day"))
    panels = Panel.objects.annotate(last=Subquery(spoken.values("last")[:1]))
    yesterday = today - timedelta(days=1)
    gone_by = panels.filter(Q(last=None) | Q(last__lt=yesterday, last__gte=today - LOOKED_BACK))
    return list(gone_by.order_by("pk").values_list("pk", flat=True))


def _verdicts(panel: int) -> QuerySet[DishVerdicts]:
    """Verdicts of the panel on dishes that no serving met on a day for which it speaks."""
    days = CheckedDay.objects.filter(run__panel=panel)
    span = days.aggregate(first=Min("day"), last=Max("day"))
    judged = DishVerdicts.objects.filter(panel=panel)
    if span["first"] is None:
        return judged
    spoken_for = days.filter(site=OuterRef("serving__site"), day=OuterRef("serving__date"))
    between = ServedDish.objects.filter(serving__date__range=(span["first"], span["last"]))
    return judged.exclude(dish__in=between.filter(Exists(spoken_for)).values("dish"))


def _dishes(before: datetime) -> QuerySet[PreparedDish]:
    """Dishes that no serving meets."""
    return PreparedDish.objects.filter(made_at__lt=before).exclude(
        Exists(ServedDish.objects.filter(dish=OuterRef("pk")))
    )


def _panels() -> QuerySet[Panel]:
    """Panels that no run names."""
    return Panel.objects.exclude(Exists(Run.objects.filter(panel=OuterRef("pk"))))
