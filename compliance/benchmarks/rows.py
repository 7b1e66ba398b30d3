"""Every exception as a row of its own, written as fast as the database takes it: the floor.

Nobody needs these rows, since children are joined to verdicts when somebody looks. They are what storing the answer for
each child would cost at least: binary COPY on PostgreSQL, executemany on SQLite, into a table without an index.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt
from django.db import connection, transaction

from compliance.benchmarks import copying
from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.bulk.codes import outcomes, rule_of
from compliance.checks.bulk.spans import Span
from compliance.checks.bulk.table import Table
from compliance.models import Run
from compliance.rules.values import Outcome
from roster.models import Enrolment

TABLE = "benchmark_exception"
COLUMNS = (
    ("run", "bigint"),
    ("serving", "bigint"),
    ("classroom", "bigint"),
    ("child", "bigint"),
    ("restriction", "bigint"),
    ("day", "date"),
    ("outcome", "smallint"),
    ("rule", "smallint"),
)
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Rows:
    """Exceptions, column by column as COLUMNS has them; days counted from 1 January of year 1."""

    columns: tuple[Ints, ...]

    def __len__(self) -> int:
        return len(self.columns[0])

    def of(self, children: set[int]) -> int:
        """Return how many there are of these children."""
        return int(np.isin(self.columns[3], sorted(children)).sum())


def rows_of(table: Table, runs: Mapping[int, Run]) -> Rows:
    """Return the exceptions of the sites of these runs, joined from the codes alone. One query, for the classes."""
    rooms = dict(Enrolment.objects.during(table.first, table.last).values_list("child", "classroom"))
    parts = [part for site, run in runs.items() for part in _parts(table, site, run.pk, rooms)]
    joined = [np.concatenate(column) for column in zip(*parts, strict=True)] if parts else [_none()] * len(COLUMNS)
    return Rows(tuple(joined))


def _parts(table: Table, site: int, run: int, rooms: Mapping[int, int]) -> Iterator[list[Ints]]:
    """Yield a part for each restriction: what of the site's servings it meets."""
    served = np.array([(serving, day.toordinal(), row) for serving, day, row in table.served[site]], dtype=np.int64)
    if not len(served):
        return
    servings, days, rows = served.T
    for span in table.spans[site]:
        codes = table.codes[rows, table.columns[span.type]]
        met = np.flatnonzero((outcomes(codes) >= Outcome.REFER) & _within(days, span))
        by, room, child, restriction = (
            np.full(len(met), each) for each in (run, rooms[span.child], span.child, span.restriction)
        )
        yield [by, servings[met], room, child, restriction, days[met], *_said(codes[met])]


def _within(days: Ints, span: Span) -> npt.NDArray[np.bool_]:
    return (days >= span.first.toordinal()) & (days <= span.last.toordinal())


def _said(codes: npt.NDArray[np.uint32]) -> tuple[Ints, Ints]:
    """Return outcome and rule, each as a number."""
    different, places = np.unique(codes, return_inverse=True)
    rules = np.array([int(rule_of(code)[1:]) for code in different], dtype=np.int64)
    return outcomes(codes).astype(np.int64), rules[places] if len(rules) else _none()


def _none() -> Ints:
    return np.zeros(0, dtype=np.int64)


def make_table() -> None:
    """Make the empty table."""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TABLE IF EXISTS {TABLE}")
        cursor.execute(f"CREATE TABLE {TABLE} ({', '.join(f'{name} {kind} NOT NULL' for name, kind in COLUMNS)})")


def write(rows: Rows, watch: Stopwatch) -> None:
    """Write the rows in one transaction: `floor pack` is making them ready, `floor` the writing to the commit."""
    if connection.vendor != "postgresql":
        _insert(rows, watch)
        return
    with watch.time("floor pack"):
        packed = packed_rows(rows)
    statement = f"COPY {TABLE} FROM STDIN (FORMAT BINARY)"
    with watch.time("floor"), transaction.atomic(), connection.cursor() as cursor, cursor.copy(statement) as copy:
        copy.write(packed)


def _insert(rows: Rows, watch: Stopwatch) -> None:
    with watch.time("floor pack"):
        columns: list[Sequence[Any]] = [column.tolist() for column in rows.columns]
        columns[5] = [date.fromordinal(day).isoformat() for day in columns[5]]
        values = list(zip(*columns, strict=True))
    marks = ", ".join("%s" for _ in COLUMNS)
    with watch.time("floor"), transaction.atomic(), connection.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {TABLE} VALUES ({marks})", values)


def packed_rows(rows: Rows) -> bytes:
    """Return the rows as PostgreSQL's binary COPY takes them."""
    sizes = {"bigint": "i8", "date": "i4", "smallint": "i2"}
    columns = [
        (sizes[kind], column - copying.EPOCH if kind == "date" else column)
        for (_, kind), column in zip(COLUMNS, rows.columns, strict=True)
    ]
    return copying.BEGIN + copying.numbers(columns) + copying.END
