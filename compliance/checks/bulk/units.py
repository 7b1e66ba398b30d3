"""Who meets the dishes of many sites: children by what they avoid, those alike together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from compliance.checks.bulk.attending import There, day_of, days_between, there
from compliance.checks.bulk.stood import AtSite, Stood
from compliance.models import RunRestriction

Held = tuple[tuple[int, int], ...]
"""Restriction types, by id, each with the days on which it holds."""

Unit = tuple[int, str]
"""A child and a substance that it avoids."""


@dataclass(slots=True)
class _Spans:
    before: list[tuple[int, int]] = field(default_factory=list)
    after: list[tuple[int, int]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Units:
    """By site: what was and is held, each time with those to whom it applies."""

    groups: dict[int, dict[tuple[Held, Held], list[Unit]]]
    types: set[int]


def units(before: Stood, after: Stood, attending: There | None = None) -> Units:
    """Return who is to be looked at, by what the runs of both moments read. Two queries, whatever the size.

    `attending`: on which days the children attend, where that is known already.

    Children are taken to attend as they do now: nobody meets a dish of a site that they have left.
    """
    site_of: dict[int, int] = {}
    spoken: dict[int, tuple[int, int]] = {}  # by run: the days it spoke for before, and does now
    for site in before.sites:
        old, new = (_by_run(stood.sites[site], before.first) for stood in (before, after))
        for run in old.keys() | new.keys():
            site_of[run] = site
            spoken[run] = (old.get(run, 0), new.get(run, 0))
    return _grouped(before, attending, site_of, spoken)


def _by_run(at: AtSite, first: date) -> dict[int, int]:
    found: dict[int, int] = {}
    for day, spoken in at.days.items():
        found[spoken.run] = found.get(spoken.run, 0) | day_of(day, first)
    return found


def _grouped(
    window: Stood, attending: There | None, site_of: Mapping[int, int], spoken: Mapping[int, tuple[int, int]]
) -> Units:
    found: dict[int, dict[Unit, _Spans]] = {}
    rows = RunRestriction.objects.filter(run__in=spoken, first_day__lte=window.last, last_day__gte=window.first)
    if window.kinds is not None:
        rows = rows.filter(type__in=window.kinds)
    if attending is None:
        attending = there(window.sites, window.first, window.last, rows if window.kinds is not None else None)
    columns = ("run", "child", "restriction__substance", "type", "first_day", "last_day")
    types: set[int] = set()
    for run, child, substance, kind, begin, end in rows.values_list(*columns):
        site = site_of[run]
        days = days_between(begin, end, window.first, window.last) & attending.get((site, child), 0)
        old, new = spoken[run]
        if not days & (old | new):
            continue
        types.add(kind)
        spans = found.setdefault(site, {}).setdefault((child, substance), _Spans())
        if held := days & old:
            spans.before.append((kind, held))
        if held := days & new:
            spans.after.append((kind, held))
    groups: dict[int, dict[tuple[Held, Held], list[Unit]]] = {}
    for site, of_site in found.items():
        alike = groups[site] = {}
        for unit, spans in of_site.items():
            key = (tuple(sorted(spans.before)), tuple(sorted(spans.after)))
            alike.setdefault(key, []).append(unit)
    return Units(groups, types)
