"""Every exception as a row of its own, written as fast as the database takes it: the floor.

Nobody needs these rows, since children are joined to verdicts when somebody looks. They are what storing the answer for
each child would cost at least: binary COPY on PostgreSQL, executemany on SQLite, into a table without an index.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db import connection, transaction

from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.bulk import copying
from compliance.checks.exceptions import ExceptionRow

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
Row = tuple[int, int, int, int, int, date, int, int]


def plain(row: ExceptionRow) -> Row:
    """Return the exception as a row of numbers; of the reasons the rule of the first."""
    rule = int(row.main_reason.rule[1:] or 0)
    return (
        row.run.pk,
        row.serving.pk,
        row.classroom.pk,
        row.child.pk,
        row.restriction.pk,
        row.date,
        row.outcome,
        rule,
    )


def make_table() -> None:
    """Make the empty table."""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TABLE IF EXISTS {TABLE}")
        cursor.execute(f"CREATE TABLE {TABLE} ({', '.join(f'{name} {kind} NOT NULL' for name, kind in COLUMNS)})")


def write(rows: Sequence[Row], watch: Stopwatch) -> None:
    """Write the rows in one transaction: `floor pack` is making them ready, `floor` the writing to the commit."""
    if connection.vendor != "postgresql":
        _insert(rows, watch)
        return
    with watch.time("floor pack"):
        packed = packed_rows(rows)
    statement = f"COPY {TABLE} FROM STDIN (FORMAT BINARY)"
    with watch.time("floor"), transaction.atomic(), connection.cursor() as cursor, cursor.copy(statement) as copy:
        copy.write(packed)


def _insert(rows: Sequence[Row], watch: Stopwatch) -> None:
    with watch.time("floor pack"):
        values = [(*row[:5], row[5].isoformat(), *row[6:]) for row in rows]
    marks = ", ".join("%s" for _ in COLUMNS)
    with watch.time("floor"), transaction.atomic(), connection.cursor() as cursor:
        cursor.executemany(f"INSERT INTO {TABLE} VALUES ({marks})", values)


def packed_rows(rows: Sequence[Row]) -> bytes:
    """Return the rows as PostgreSQL's binary COPY takes them."""
    if not rows:
        return copying.BEGIN + copying.END
    columns: list[Any] = list(zip(*rows, strict=True))
    columns[5] = copying.days(columns[5])
    sizes = {"bigint": "i8", "date": "i4", "smallint": "i2"}
    kinds = [sizes[kind] for _, kind in COLUMNS]
    return copying.BEGIN + copying.numbers(list(zip(kinds, columns, strict=True))) + copying.END
