"""What is new at many sites, compared with what stood: counted, and what is of the very day kept for those on the spot.

An exception that is the same before and after is never looked at by itself: dishes are compared as numbers, once for
all children who avoid the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

import numpy as np
import numpy.typing as npt

from compliance.checks.bulk.judged import Judged, Outcomes, Waits
from compliance.checks.bulk.stood import AtSite, Stood, stood
from compliance.checks.bulk.table import Table
from compliance.checks.bulk.units import Held, Units, units
from compliance.checks.news import News
from compliance.models import Announcement, Run
from compliance.rules.values import Outcome

Met = tuple[int, tuple[str, ...]]
"""An outcome, and the subjects of the questions that it waits for."""


def tell(before: Stood, table: Table | None, runs: Mapping[int, Run]) -> dict[int, News]:
    """Announce what is new today, and return what changed, by site. The caller has stored, and holds the transaction.

    `table`: what was stored, where it is at hand. Eight queries, whatever the size, and one more where something is
    announced.
    """
    sites = [run.site for run in runs.values()]
    after = stood(sites, before.first, before.last, before.only, runs.values(), before.kinds)
    who = units(before, after, table.there if table and before.kinds is None else None)
    pairs = {pair for moment in (before, after) for at in moment.sites.values() for pair in _pairs(at).values()}
    judged = Judged(pairs, who.types)
    waits = Waits(judged, {dish for dish, _ in pairs}, table, _rows(table, after))
    news: dict[int, News] = {}
    announcements: list[Announcement] = []
    for site, run in runs.items():
        today = run.as_of.astimezone(run.site.zone).date()
        compared = _Compared(before.sites[site], after.sites[site], before.first, today, judged, waits)
        news[site] = _told(compared, who, run, announcements)
    Announcement.objects.bulk_create(announcements, batch_size=1_000)
    return news


def _told(compared: _Compared, who: Units, run: Run, announcements: list[Announcement]) -> News:
    """Return the news of one site, and add what is to be announced there."""
    news = News()
    for (old, new), alike in who.groups.get(run.site_id, {}).items():
        found, today = compared.of(old, new)
        news += found.times(len(alike))
        announcements += [
            Announcement(run=run, serving_id=serving, child_id=child, substance=substance, outcome=outcome)
            for child, substance in alike
            for serving, outcome in today
        ]
    return news


def _pairs(at: AtSite) -> dict[int, tuple[int, int]]:
    """The dish and the panel of each serving."""
    return {serving: (dish, at.days[at.dates[serving]].panel) for serving, dish in at.dishes.items()}


def _rows(table: Table | None, after: Stood) -> dict[int, int]:
    """Where the dishes stand in the table, by their ids."""
    if table is None:
        return {}
    return {
        after.sites[site].dishes[serving]: row
        for site, served in table.served.items()
        if site in after.sites
        for serving, _, row in served
        if serving in after.sites[site].dishes
    }


class _Compared:
    """The servings of one site before and after."""

    def __init__(self, before: AtSite, after: AtSite, first: date, today: date, judged: Judged, waits: Waits) -> None:
        self._judged, self._waits = judged, waits
        self._servings = sorted(before.dishes.keys() | after.dishes.keys())
        dates = [after.dates.get(each) or before.dates[each] for each in self._servings]
        self._days = np.array([(day - first).days for day in dates], dtype=np.int64)
        self._known = np.array([day in before.checked for day in dates], dtype=bool)
        self._today = np.array([day == today for day in dates], dtype=bool) & self._known
        self._dishes = [[at.dishes.get(each, 0) for each in self._servings] for at in (before, after)]
        pairs = [_pairs(before), _pairs(after)]
        self._places = [judged.places(of.get(each) for each in self._servings) for of in pairs]
        self._moved = np.array(self._dishes[0]) != np.array(self._dishes[1])
        self._on: dict[int, npt.NDArray[np.bool_]] = {}

    def of(self, old: Held, new: Held) -> tuple[News, list[tuple[int, int]]]:
        """Return the news for one who held the old and holds the new, and what of it is to be announced today."""
        changed, gone, ahead = set[object](), set[object](), set[object]()
        today: list[tuple[int, int]] = []
        for place in self._differing(old, new):
            serving = self._servings[place]
            was, is_now = self._met(0, old, place), self._met(1, new, place)
            fresh = is_now - was
            (changed if self._known[place] else ahead).update(_line(met, serving) for met in fresh)
            gone.update(_line(met, serving) for met in was - is_now)
            if self._today[place]:
                outcomes = {outcome for outcome, _ in was}
                today += [(serving, outcome) for outcome in sorted({outcome for outcome, _ in fresh} - outcomes)]
        if ahead:
            ahead -= changed | self._asked(old)
        return News(len(changed), len(gone), len(ahead)), today

    def _differing(self, old: Held, new: Held) -> Iterator[int]:
        """Yield the places of the servings that may have changed for them."""
        if len(old) > 1 or len(new) > 1:
            met = [self._outcomes(side, each) for side, held in enumerate((old, new)) for each in held]
            yield from np.flatnonzero(np.any(met, axis=0)).tolist()
            return
        was = self._outcomes(0, old[0]) if old else np.zeros(len(self._servings), dtype=np.uint8)
        is_now = self._outcomes(1, new[0]) if new else np.zeros(len(self._servings), dtype=np.uint8)
        other_type = bool(old and new and old[0][0] != new[0][0])
        # Of the same dish and the same type the same is asked.
        asks = (was == Outcome.REFER) & (is_now == Outcome.REFER) & (self._moved | other_type)
        yield from np.flatnonzero((was != is_now) | asks).tolist()

    def _outcomes(self, side: int, held: tuple[int, int]) -> Outcomes:
        kind, days = held
        if days not in self._on:
            self._on[days] = (days >> self._days) & 1 == 1
        found: Outcomes = self._judged.outcomes(self._places[side], kind) * self._on[days]
        return found

    def _met(self, side: int, held: Held, place: int) -> set[Met]:
        return {
            (outcome, self._waits.of(self._dishes[side][place], each[0]) if outcome == Outcome.REFER else ())
            for each in held
            if (outcome := int(self._outcomes(side, each)[place]))
        }

    def _asked(self, held: Held) -> set[object]:
        """What was asked before, whatever the dish."""
        return {
            (int(Outcome.REFER), self._waits.of(self._dishes[0][place], each[0]))
            for each in held
            for place in np.flatnonzero(self._outcomes(0, each) == Outcome.REFER).tolist()
        }


def _line(met: Met, serving: int) -> object:
    """What it stands for: a question, whatever the dishes that wait for its answer, or else the dish."""
    outcome, waits_for = met
    return (outcome, waits_for or serving)
