"""The verdicts of all sites worked out and written together, beside the present run: what a night could cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

import numpy as np
from django.conf import settings
from django.db import connection, transaction

from compliance.benchmarks.memory import forget_peak, peak_mib
from compliance.benchmarks.oneday import exceptions_of
from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.bulk import copying, district, larder
from compliance.checks.bulk.codes import outcomes
from compliance.checks.bulk.district import Table, judge_sites
from compliance.checks.bulk.sparse import packed
from compliance.rules.values import Outcome
from menus.models import Site

TABLES = {
    "benchmark_verdict": "dish bigint PRIMARY KEY, recipe bigint, codes bytea",
    "benchmark_served": "serving bigint PRIMARY KEY, dish bigint",
    "benchmark_read": "site bigint, child bigint, restriction bigint, type bigint, first_day date, last_day date",
}
INDEX = "CREATE INDEX benchmark_read_by ON benchmark_read (site)"
"""Written with its keys and index, as it would be read by them."""
PARTS = {
    "together children": (district, "spans"),
    "together shared": (district, "_add_shared"),
    "together kitchens": (district, "_add_alone"),
    "together table": (district, "judge_many"),
}
READ = 5
"""Of so many sites every day is read back, as a page would."""
AT_ONCE = 100
"""So many sites are worked out at a time."""


@dataclass(frozen=True, slots=True)
class Together:
    """What came of it."""

    dishes: int
    exceptions: int
    read: int  # exceptions of the sites whose days were read back
    peak_mib: float | None


def together(sites: Sequence[Site], at: datetime, watch: Stopwatch) -> Together:
    """Work out and write the verdicts of these sites.

    Timed are `together judge` with its PARTS; `together write`, of which `together write verdicts`; `together join`,
    which counts the exceptions; and each `together day` that is read back.
    """
    forget_peak()
    _make_tables()
    with watch.time("together judge"), watch.around({"together food": (larder, "read_larder")}):
        food = larder.read_larder(at)
    dishes = exceptions = 0
    for begin in range(0, len(sites), AT_ONCE):
        some = sites[begin : begin + AT_ONCE]
        first = at.astimezone(some[0].zone).date()
        last = first + timedelta(days=settings.NIGHTLY_WINDOW_DAYS - 1)
        with watch.time("together judge"), watch.around(PARTS):
            table = judge_sites(some, first, last, at, food)
        with watch.time("together write"), transaction.atomic():
            _write(table, dishes, watch)
        dishes += len(table.recipes)
        with watch.time("together join"):
            exceptions += _exceptions(table)
    read = 0
    for site in sites[:READ]:
        for n in range(settings.NIGHTLY_WINDOW_DAYS):
            read += exceptions_of(site, at.astimezone(site.zone).date() + timedelta(days=n), watch)
    return Together(dishes, exceptions, read, peak_mib())


def _exceptions(table: Table) -> int:
    """Count what children meet, from the codes."""
    met = outcomes(table.codes) >= Outcome.REFER
    column = {kind: number for number, kind in enumerate(table.types)}
    count = 0
    for site, found in table.spans.items():
        rows = np.array([row for _, _, row in table.served[site]], dtype=np.int64)
        days = np.array([day.toordinal() for _, day, _ in table.served[site]])
        for span in found:
            holds = (days >= span.first.toordinal()) & (days <= span.last.toordinal())
            count += int(met[rows[holds], column[span.type]].sum()) if len(rows) else 0
    return count


def _make_tables() -> None:
    with connection.cursor() as cursor:
        for name, columns in TABLES.items():
            cursor.execute(f"DROP TABLE IF EXISTS {name}")
            cursor.execute(f"CREATE TABLE {name} ({columns})")
        cursor.execute(INDEX)


def _write(table: Table, before: int, watch: Stopwatch) -> None:
    with watch.time("together write verdicts"):
        blobs = [packed(row) for row in table.codes]
        dishes = [(before + number, recipe) for number, recipe in enumerate(table.recipes)]
        if connection.vendor == "postgresql":
            _copy("benchmark_verdict", copying.with_bytes(dishes, blobs))
        else:
            _insert("benchmark_verdict", 3, [(*row, blob) for row, blob in zip(dishes, blobs, strict=True)])
    served = [(serving, before + row) for found in table.served.values() for serving, _, row in found]
    _write_numbers("benchmark_served", "i8 i8", served)
    column = {kind: number for number, kind in enumerate(table.types)}
    read = [
        (site, each.child, each.restriction, column[each.type], each.first, each.last)
        for site, found in table.spans.items()
        for each in found
    ]
    _write_numbers("benchmark_read", "i8 i8 i8 i8 date date", read)


def _write_numbers(name: str, kinds: str, rows: Sequence[tuple[Any, ...]]) -> None:
    if not rows:
        return
    if connection.vendor == "postgresql":
        columns = zip(kinds.split(), zip(*rows, strict=True), strict=True)
        typed = [("i4", copying.days(values)) if kind == "date" else (kind, values) for kind, values in columns]
        _copy(name, copying.numbers(typed))
    else:
        plain = [tuple(each.isoformat() if isinstance(each, date) else each for each in row) for row in rows]
        _insert(name, len(rows[0]), plain)


def _copy(name: str, rows: bytes) -> None:
    with connection.cursor() as cursor, cursor.copy(f"COPY {name} FROM STDIN (FORMAT BINARY)") as copy:
        copy.write(copying.BEGIN + rows + copying.END)


def _insert(name: str, columns: int, rows: Sequence[tuple[Any, ...]]) -> None:
    marks = ", ".join(["%s"] * columns)
    with connection.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {name} VALUES ({marks})", rows)
