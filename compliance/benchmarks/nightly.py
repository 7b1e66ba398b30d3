"""The nightly run of an invented district, beside the floor and the two ways somebody would do it otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import cycle
from typing import Any

from django.conf import settings
from django.utils import timezone

from compliance.benchmarks.memory import forget_peak, peak_mib
from compliance.benchmarks.onequery import asked
from compliance.benchmarks.pages import read_days
from compliance.benchmarks.plainloop import first_children, loop, pairs
from compliance.benchmarks.problem import CannotMeasure, Disagreement
from compliance.benchmarks.rows import Rows, make_table, rows_of, write
from compliance.benchmarks.stopwatch import Stopwatch
from compliance.benchmarks.told import machine
from compliance.benchmarks.world.children import NURSE
from compliance.checks import slices
from compliance.checks.bulk.table import Table
from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.checks.slices import Checked, check_sites
from compliance.config.warm import warm_up
from compliance.models import Run
from menus.models import Site
from roster.models import User

STEPS: dict[str, tuple[Any, str]] = {
    "plan": (slices, "_plan"),
    "evaluate": (slices, "judge_sites"),
    "judge": (Table, "judge"),
    "stood": (slices, "stood"),
    "verdicts": (slices, "store_verdicts"),
    "complete": (slices, "_complete"),
    "stand": (slices, "stand"),
    "referrals": (slices, "ask_for"),
    "tell": (slices, "tell"),
    "runs": (slices, "update"),
    "record": (slices, "record_all"),
}
"""The functions of a run that are timed by themselves. To judge is part of to evaluate."""
SAMPLE = 4_000
"""So many judgements the plain loop makes in all; what the whole would take is reckoned from them."""
READ = 5
"""Of so many sites of each slice the days are read as pages; of one alone, so many times."""


@dataclass(slots=True)
class Figures:
    """What is added up from slice to slice."""

    first: Stopwatch = field(default_factory=Stopwatch)  # of the night that finds nothing in place
    watch: Stopwatch = field(default_factory=Stopwatch)  # of the night after it, and of all else
    counts: Counter[str] = field(default_factory=Counter)
    agreed: Counter[str] = field(default_factory=Counter)
    mib: float = 0.0

    @property
    def seconds(self) -> dict[str, float]:
        """Seconds by name; the loop's for all pairs are reckoned from those that it judged.

        `table` is the verdict table, rebuilt from the dishes as prepared and written where none was; `first run` is the
        whole of that night.
        """
        looped = self.counts["loop pairs"]
        reckoned = self.watch.seconds["loop"] / looped * self.counts["pairs"] if looped else 0.0
        table = self.first.seconds["judge"] + self.first.seconds["verdicts"]
        return self.watch.seconds | {
            "loop reckoned": reckoned,
            "table": table,
            "first run": self.first.seconds["run"],
        }

    @property
    def ratios(self) -> dict[str, float | None]:
        """Parts as multiples of the floor, and the other ways as multiples of the run.

        The loop is held against judging alone: it is given the dishes as prepared, as judging is.
        """
        spent = self.seconds
        parts = ("table", "evaluate", "verdicts", "run", "first run")
        pairs = {f"{part} to floor": (part, "floor") for part in parts}
        pairs |= {"loop to judge": ("loop reckoned", "judge"), "one query to run": ("one query", "run")}
        return {
            name: round(spent[one] / spent[other], 2) if spent[other] else None for name, (one, other) in pairs.items()
        }

    def agree(self, way: str, service: int, other: int) -> None:
        """Note that another way counted the same. Raises Disagreement when it did not."""
        if service != other:
            raise Disagreement(f"The service finds {service:,} exceptions and the {way} {other:,}, of the same dishes.")
        self.agreed[way] += other


def nightly(most_sites: int | None = None) -> dict[str, Any]:
    """Run two nights of all sites, or of the first so many, and return figures as they go into JSON.

    Slice by slice, as workers take them, so that what else the machine does meanwhile falls on all ways: the sites are
    checked for the first time, and again as on the day after; then the exceptions are written as rows, counted by the
    one query, read as pages, and some by the loop. Raises Disagreement, and CannotMeasure when a site could not be
    checked.
    """
    sites = list(Site.objects.order_by("pk")[:most_sites])
    parts = list(_parts(sites))
    figures = Figures()
    warm_up()  # as a server is before its first page; so `peak_mib` holds the pages too, and `two_workers` none
    make_table()
    for part in parts:
        _slice(part, SAMPLE // len(parts), figures)
    return {
        "on": machine(),
        "sites_checked": len(sites),
        "sites": Site.objects.count(),
        "slices": len(parts),
        "window_days": settings.NIGHTLY_WINDOW_DAYS,
        "counts": dict(figures.counts),
        "agreed": dict(figures.agreed),
        "seconds": {name: round(spent, 4) for name, spent in figures.seconds.items()},
        "first_night": figures.first.told(),
        "queries": {name: figures.watch.queries[name] for name in ("run", *STEPS)},
        "page_p95_ms": {name: figures.watch.p95_ms(f"page {name}") for name in ("day", "class")},
        "peak_mib": figures.mib or None,
        "ratios": figures.ratios,
    }


def _parts(sites: Sequence[Site]) -> Iterator[Sequence[Site]]:
    for begin in range(0, len(sites), settings.NIGHT_SLICE_SITES):
        yield sites[begin : begin + settings.NIGHT_SLICE_SITES]


def _slice(sites: Sequence[Site], sample: int, figures: Figures) -> None:
    now = timezone.now()
    forget_peak()
    _checked(sites, now, figures.first)
    checked, table = _checked(sites, now + timedelta(days=1), figures.watch)
    figures.mib = max(figures.mib, peak_mib() or 0.0)
    rows = rows_of(table, {run.site_id: run for run in checked.runs})
    write(rows, figures.watch)
    figures.counts["exceptions"] += len(rows)
    figures.agree("one query", len(rows), asked(table, figures.watch))
    _read(checked.runs, rows, figures)
    for site in sites:
        _loop(table, site.pk, rows, max(1, sample // len(sites)), figures)
    _count(table, checked.runs, figures.counts)


def _checked(sites: Sequence[Site], as_of: datetime, watch: Stopwatch) -> tuple[Checked, Table]:
    with watch.around(STEPS) as returned, watch.time("run"):
        checked = check_sites(sites, trigger=Run.Trigger.NIGHT, as_of=as_of)
    for run, error in checked.failed:
        raise CannotMeasure(f"{run.site} could not be checked: {error}") from error
    if len(checked.runs) != len(sites):
        raise CannotMeasure(f"{len(checked.runs)} of {len(sites)} sites were checked together.")
    return checked, returned["evaluate"]


def _read(runs: Sequence[Run], rows: Rows, figures: Figures) -> None:
    """Read what stands: all of it at once, and of some sites day by day."""
    found = Counter[int]()
    with figures.watch.time("read"):
        for run in runs:
            found[run.site_id] = len(found_exceptions(ExceptionFilter(run.first_day, run.last_day, site=run.site)))
    figures.agree("stored verdicts", len(rows), found.total())
    reader = User.objects.get(username=NURSE)
    some = [run for run, _ in zip(cycle(runs), range(READ), strict=False)]
    shown = sum(read_days(run, reader, figures.watch) for run in some)
    figures.agree("pages", sum(found[run.site_id] for run in some), shown)


def _loop(table: Table, site: int, rows: Rows, sample: int, figures: Figures) -> None:
    children = first_children(table, site, sample)
    looped = loop(table, site, children, figures.watch)
    figures.counts["loop pairs"] += looped.pairs
    figures.agree("loop", rows.of(children), looped.exceptions)


def _count(table: Table, runs: Sequence[Run], counts: Counter[str]) -> None:
    counts["pairs"] += sum(pairs(table, run.site_id) for run in runs)
    counts["dishes"] += len(table.dishes)
    counts["served"] += sum(run.counts["servings"] for run in runs)
    counts["verdicts"] += int((table.codes > 0).sum())
    counts["types"] = max(counts["types"], len(table.types))
    counts["referrals"] += sum(run.counts["referrals"] for run in runs)
