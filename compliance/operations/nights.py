"""How the nights went, for the sites that one is told of: what is done, what is left, and what became of each site."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from functools import cached_property

from django.db.models import Q

from compliance.models import Night, NightSlice, Run
from compliance.operations.scope import Scope
from compliance.operations.timeleft import time_left

LOOKS_BACK = timedelta(days=30)
"""How far back nights are listed for who is told of some sites only: each has to be looked through for theirs."""


class Fate(StrEnum):
    """What became of one site in one night."""

    CHECKED = "checked"
    BUSY = "busy"
    FAILED = "failed"
    RUNNING = "running"
    WAITING = "waiting"


@dataclass(frozen=True, slots=True)
class SlicePart:
    """One slice of a night, and what became of those of its sites that one is told of."""

    slice: NightSlice
    fates: dict[int, Fate]


@dataclass(frozen=True)
class NightPart:
    """One night as far as one is told of it. `left` is how long the whole of it will go on; None: not known yet."""

    night: Night
    slices: tuple[SlicePart, ...]
    left: timedelta | None

    @cached_property
    def sites(self) -> Counter[Fate]:
        """How many sites met which fate; 0 for the others."""
        return Counter(fate for part in self.slices for fate in part.fates.values())

    @cached_property
    def states(self) -> Counter[str]:
        """How many slices are in which state; 0 for the others."""
        return Counter(part.slice.state for part in self.slices)

    @property
    def total(self) -> int:
        """How many sites."""
        return self.sites.total()

    @property
    def ended(self) -> int:
        """How many sites have met their fate, whichever."""
        return sum(self.sites[fate] for fate in (Fate.CHECKED, Fate.BUSY, Fate.FAILED))

    @property
    def state(self) -> Night.State:
        """How it stands for the sites that one is told of: those of others may have fared otherwise."""
        if self.night.state == Night.State.RUNNING:
            return Night.State.RUNNING
        return Night.State.COMPLETE if self.sites[Fate.CHECKED] == self.total else Night.State.PARTIAL

    @property
    def is_under_way(self) -> bool:
        """Whether it was begun and not closed."""
        return self.state == Night.State.RUNNING


def nights_within(scope: Scope, now: datetime) -> list[int]:
    """Return the ids of the nights that held one of these sites, the newest first. One query, two unless all are told.

    All nights on record for who is told of all sites; for others those that were due in the last 30 days.
    """
    nights = Night.objects.all() if scope.is_all else Night.objects.filter(due_at__gte=now - LOOKS_BACK)
    ids = list(nights.values_list("pk", flat=True))
    if scope.is_all:
        return ids
    slices = NightSlice.objects.filter(night__in=ids).order_by().values_list("night", "sites")
    theirs = {night for night, sites in slices if not scope.sites.keys().isdisjoint(sites)}
    return [pk for pk in ids if pk in theirs]


def night_parts(nights: Collection[int], scope: Scope, now: datetime) -> list[NightPart]:
    """Return these nights in the same order, each with what became of the sites that one is told of. Three queries."""
    found = Night.objects.in_bulk(nights)
    slices: dict[int, list[NightSlice]] = defaultdict(list)
    for each in NightSlice.objects.filter(night__in=nights):
        slices[each.night_id].append(each)
    looked_up = _looked_up(found, slices, scope)
    return [_part(found[pk], slices[pk], looked_up, scope, now) for pk in nights if pk in found]


Known = dict[int, list[Run]]
"""Runs by the id of their site."""


def _part(night: Night, slices: list[NightSlice], known: Known, scope: Scope, now: datetime) -> NightPart:
    parts = (SlicePart(each, _fates(each, night, known, scope)) for each in slices)
    left = _left(night, slices, now) if night.state == Night.State.RUNNING else None
    return NightPart(night, tuple(part for part in parts if part.fates), left)


def _left(night: Night, slices: Iterable[NightSlice], now: datetime) -> timedelta | None:
    open_, all_ = 0, 0
    for each in slices:
        all_ += len(each.sites)
        open_ += len(each.sites) if each.state in NightSlice.OPEN else 0
    return time_left(now - night.started_at, all_ - open_, all_)


def _fates(each: NightSlice, night: Night, known: Known, scope: Scope) -> dict[int, Fate]:
    own = [site for site in each.sites if site in scope.sites]
    match each.state:
        case NightSlice.State.WAITING:
            return dict.fromkeys(own, Fate.WAITING)
        case NightSlice.State.RUNNING:
            return dict.fromkeys(own, Fate.RUNNING)
        case _ if not _is_mixed(each):
            return dict.fromkeys(own, Fate.CHECKED)
        case _:
            return {site: _fate(each, night, known.get(site, [])) for site in own}


def _is_mixed(each: NightSlice) -> bool:
    """Whether the slice came to an end without all of its sites being checked."""
    if each.state in NightSlice.OPEN:
        return False
    return each.state == NightSlice.State.FAILED or each.counts.get("checked") != len(each.sites)


def _fate(each: NightSlice, night: Night, runs: Iterable[Run]) -> Fate:
    """What became of one site: any check since the night was due has done its work, whoever asked for it."""
    till = night.closed_at
    within = [run for run in runs if run.as_of >= night.due_at and (till is None or run.started_at <= till)]
    if any(run.state == Run.State.COMPLETE for run in within):
        return Fate.CHECKED
    if each.state == NightSlice.State.FAILED or any(run.state == Run.State.FAILED for run in within):
        return Fate.FAILED
    return Fate.BUSY


def _looked_up(nights: dict[int, Night], slices: dict[int, list[NightSlice]], scope: Scope) -> Known:
    """Return the runs by which one tells the sites of a slice apart that did not all meet the same fate."""
    wanted = Q()
    for pk, several in slices.items():
        sites = {site for each in several if _is_mixed(each) for site in each.sites if site in scope.sites}
        if sites and pk in nights:
            wanted |= Q(site__in=sites, as_of__gte=nights[pk].due_at)
    known: Known = defaultdict(list)
    if wanted:
        for run in Run.objects.filter(wanted).order_by().only("site", "state", "as_of", "started_at"):
            known[run.site_id].append(run)
    return known
