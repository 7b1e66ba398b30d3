"""The nightly run of an invented district, beside the floor and the two ways somebody would do it otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.conf import settings

from compliance.benchmarks.memory import forget_peak, peak_mib
from compliance.benchmarks.onequery import Flat
from compliance.benchmarks.plainloop import first_children, loop, pairs
from compliance.benchmarks.problem import Disagreement
from compliance.benchmarks.rows import Row, make_table, plain, write
from compliance.benchmarks.stopwatch import Stopwatch
from compliance.benchmarks.together import READ, together
from compliance.benchmarks.told import machine
from compliance.checks import night, run
from compliance.checks.exceptions import ExceptionFilter, found_exceptions
from compliance.checks.run import Result
from compliance.models import Run
from menus.labels.lexicon import Lexicon
from menus.models import Site

STEPS = {
    "load": (run, "load"),
    "evaluate": (run, "_evaluate"),
    "judge": (run, "judge_all"),
    "write": (run, "store"),
    "referrals": (run, "open_referrals"),
    "known": (night, "known"),
}
"""The functions of a run that are timed by themselves, where the run calls them. To judge is part of to evaluate."""
ROUNDS = 5
SAMPLE = 4_000
"""So many judgements the plain loop makes in all; what the whole would take is reckoned from them."""


@dataclass(slots=True)
class Figures:
    """What is added up from round to round."""

    watch: Stopwatch = field(default_factory=Stopwatch)
    counts: Counter[str] = field(default_factory=Counter)
    agreed: Counter[str] = field(default_factory=Counter)
    run_mib: float = 0.0
    together_mib: float = 0.0

    @property
    def loop_reckoned(self) -> float:
        """Seconds that the loop would take for all pairs, from those that it judged."""
        looped = self.counts["loop pairs"]
        return self.watch.seconds["loop"] / looped * self.counts["pairs"] if looped else 0.0

    @property
    def ratios(self) -> dict[str, float | None]:
        """Parts as multiples of the floor, and the other ways as multiples of the run.

        The loop is held against judging alone: it is given the dishes as prepared, as judging is.
        """
        spent = self.watch.seconds | {"loop": self.loop_reckoned}
        spent["together verdicts"] = spent["together table"] + spent["together write verdicts"]
        pairs = {f"{part} to floor": (part, "floor") for part in ("evaluate", "write", "run")}
        pairs |= {f"together {part} to floor": (f"together {part}", "floor") for part in ("judge", "write", "verdicts")}
        pairs |= {"loop to judge": ("loop", "judge"), "one query to run": ("one query", "run")}
        return {
            name: round(spent[one] / spent[other], 2) if spent[other] else None for name, (one, other) in pairs.items()
        }

    def agree(self, way: str, service: int, other: int) -> None:
        """Note that another way counted the same. Raises Disagreement when it did not."""
        if service != other:
            raise Disagreement(f"The service finds {service:,} exceptions and the {way} {other:,}, of the same dishes.")
        self.agreed[way] += other


def nightly(most_sites: int | None = None) -> dict[str, Any]:
    """Run the night of all sites, or of the first so many, and return figures as they go into JSON.

    In rounds, so that what else the machine does meanwhile falls on all of them: some sites are checked, their
    exceptions written as rows, counted by the one query, by judging them together, and some by the loop. It is a first
    night: nothing stands yet that a run would be compared with. Raises Disagreement.
    """
    sites = list(Site.objects.order_by("pk")[:most_sites])
    figures = Figures()
    Lexicon.load()  # a worker has it, after its first site
    make_table()
    rounds = min(ROUNDS, len(sites))
    for number in range(rounds):
        _round(sites[number::rounds], SAMPLE // rounds, figures)
    return {
        "on": machine(),
        "sites_checked": len(sites),
        "sites": Site.objects.count(),
        "rounds": rounds,
        "window_days": settings.NIGHTLY_WINDOW_DAYS,
        "counts": dict(figures.counts),
        "agreed": dict(figures.agreed),
        "seconds": figures.watch.told() | {"loop reckoned": round(figures.loop_reckoned, 4)},
        "queries": {name: figures.watch.queries[name] for name in ("run", *STEPS, "together judge")},
        "day_p95_ms": figures.watch.p95_ms("together day"),
        "peak_mib": {"run": figures.run_mib or None, "together": figures.together_mib or None},
        "ratios": figures.ratios,
    }


def _round(sites: Sequence[Site], sample: int, figures: Figures) -> None:
    flat, rows, per_site = Flat(), list[Row](), Counter[int]()
    for site in sites:
        forget_peak()
        last, result = _check(site, figures.watch)
        figures.run_mib = max(figures.run_mib, peak_mib() or 0.0)
        found = _found(last, figures.watch)
        _loop(result, found, max(1, sample // len(sites)), figures)
        _count(last, result, figures.counts)
        flat.add(result)
        per_site[site.pk] = len(found)
        rows += found
    write(rows, figures.watch)
    figures.counts["exceptions"] += len(rows)
    figures.agree("one query", len(rows), flat.ask(last, figures.watch))
    at_once = together(sites, last.as_of, figures.watch)
    figures.agree("together", len(rows), at_once.exceptions)
    figures.agree("day by day", sum(per_site[site.pk] for site in sites[:READ]), at_once.read)
    figures.counts["together dishes"] += at_once.dishes
    figures.together_mib = max(figures.together_mib, at_once.peak_mib or 0.0)


def _check(site: Site, watch: Stopwatch) -> tuple[Run, Result]:
    with watch.around(STEPS) as returned, watch.time("run"):
        done = night.check_and_tell(site=site, trigger=Run.Trigger.NIGHT)
    return done, returned["evaluate"]


def _found(done: Run, watch: Stopwatch) -> list[Row]:
    with watch.time("read"):
        exceptions = found_exceptions(ExceptionFilter(done.first_day, done.last_day, site=done.site))
    return [plain(row) for row in exceptions]


def _loop(result: Result, found: Sequence[Row], sample: int, figures: Figures) -> None:
    children = first_children(result, sample)
    looped = loop(result, children, figures.watch)
    figures.counts["loop pairs"] += looped.pairs
    figures.agree("loop", sum(child in children for _, _, _, child, *_ in found), looped.exceptions)


def _count(done: Run, result: Result, counts: Counter[str]) -> None:
    counts["pairs"] += pairs(result)
    counts["dishes"] += len(result.dishes)
    counts["served"] += len(result.served)
    counts["verdicts"] += len(result.verdicts)
    counts["findings"] += sum(len(verdict.findings) for verdict in result.verdicts.values())
    counts["types"] = max(counts["types"], len({period.type for period in result.periods}))
    counts["referrals"] += done.counts["referrals"]
