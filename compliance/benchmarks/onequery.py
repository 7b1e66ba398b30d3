"""How somebody would check in SQL: evidence, restrictions and rules as plain tables, and one statement over them.

It judges anew, from the same evidence of the dishes as prepared, and knows nothing of verdicts: that it counts the same
exceptions is a check of the service's judging and joining. It knows no combinations and no set days; the invented
children have none.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any

from django.db import connection

from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.bulk.table import Table
from compliance.rules.register import RULES
from compliance.rules.values import Strictness
from menus.kitchen.recipes import Pieces
from menus.labels.evidence import ANY, LEVEL_OF_KIND, Kind, Level
from menus.substances.catalogue import Catalogue

TABLES = {
    "benchmark_dish": "serving bigint, dish bigint",
    "benchmark_evidence": "dish bigint, substance varchar(60), kind varchar(20), term varchar(120), labels text",
    "benchmark_bears": "code varchar(60), substance varchar(60), how varchar(10)",
    "benchmark_meaning": "kind varchar(20), how varchar(10), strictness varchar(10), outcome int, said varchar(20)",
}
INDEXES = {
    "benchmark_dish": "serving",
    "benchmark_evidence": "dish",
    "benchmark_bears": "substance",
    "benchmark_meaning": "kind",
}

STATEMENT = """
SELECT count(*) FROM (
    SELECT s.id, r.id
    FROM menus_serving s
    JOIN benchmark_dish d ON d.serving = s.id
    JOIN benchmark_evidence e ON e.dish = d.dish
    JOIN benchmark_bears b ON b.substance = e.substance
    JOIN roster_classroom c ON c.site_id = s.site_id
    JOIN roster_enrolment n ON n.classroom_id = c.id AND n.starts_on <= s.date
        AND (n.ends_on IS NULL OR n.ends_on >= s.date)
    JOIN roster_restriction r ON r.child_id = n.child_id AND r.substance = b.code AND r.recorded_at <= %(at)s
        AND (r.starts_on IS NULL OR r.starts_on <= s.date) AND (r.ends_on IS NULL OR r.ends_on >= s.date)
    JOIN benchmark_meaning m ON m.kind = e.kind AND m.how = b.how AND m.strictness = r.strictness AND m.outcome > 0
    WHERE s.withdrawn_at IS NULL
        AND NOT EXISTS (SELECT 1 FROM roster_restriction l WHERE l.replaces_id = r.id AND l.recorded_at <= %(at)s)
        AND NOT EXISTS (
            SELECT 1 FROM roster_allowance a
            WHERE a.restriction_id = r.id AND a.recorded_at <= %(at)s AND a.starts_on <= s.date AND a.ends_on >= s.date
                AND NOT EXISTS (
                    SELECT 1 FROM roster_allowancewithdrawal w WHERE w.allowance_id = a.id AND w.recorded_at <= %(at)s
                )
                AND a.kind = m.said AND a.about IN ('', e.substance) AND a.term IN ('', e.term)
                AND (a.label_id IS NULL OR e.labels LIKE '%%|' || a.label_id || '|%%')
        )
    GROUP BY s.id, r.id
) found
"""


def asked(table: Table, watch: Stopwatch) -> int:
    """Return how many exceptions the sites of the table have. `one query fill` fills the tables, `one query` asks."""
    with watch.time("one query fill"):
        served = [(serving, row) for found in table.served.values() for serving, _, row in found]
        _fill("benchmark_dish", served)
        _fill(
            "benchmark_evidence", [each for row, pieces in enumerate(table.dishes) for each in _evidence(row, pieces)]
        )
        _fill("benchmark_bears", _bears())
        _fill("benchmark_meaning", _meaning())
    with watch.time("one query"):
        return _count(table.at)


def _count(at: datetime) -> int:
    with connection.cursor() as cursor:
        cursor.execute(STATEMENT, {"at": connection.ops.adapt_datetimefield_value(at)})
        (count,) = cursor.fetchone()
        return int(count)


def _fill(table: str, rows: Sequence[tuple[Any, ...]]) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TABLE IF EXISTS {table}")
        cursor.execute(f"CREATE TABLE {table} ({TABLES[table]})")
        marks = ", ".join("%s" for _ in TABLES[table].split(", "))
        cursor.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
        cursor.execute(f"CREATE INDEX {table}_by ON {table} ({INDEXES[table]})")
        cursor.execute(f"ANALYZE {table}")


def _evidence(dish: int, pieces: Pieces) -> list[tuple[Any, ...]]:
    return [
        (
            dish,
            piece.substance,
            piece.kind.value,
            piece.term,
            "|" + "".join(f"{step.ref}|" for step in piece.path if step.kind == "label"),
        )
        for piece in pieces
    ]


def _bears() -> list[tuple[str, str, str]]:
    """Which substance bears on a restriction on which code, and how."""
    catalogue = Catalogue.load()
    found: dict[tuple[str, str], str] = {}
    for code in catalogue.substances:
        exact: Iterable[str] = catalogue.descendants(code) | {code, ANY}
        ways = (
            ("once", catalogue.once_members(code)),
            ("carrier", catalogue.carriers(code)),
            ("group", catalogue.ancestors(code)),
            ("exact", exact),
        )
        for how, substances in ways:  # what comes later counts
            found |= dict.fromkeys(((code, substance) for substance in substances), how)
    return [(code, substance, how) for (code, substance), how in found.items()]


def _meaning() -> list[tuple[str, str, str, int, str]]:
    """What evidence of a kind means that bears on a restriction so, and as which kind it is taken."""
    rule_of = {kind: rule for rule in RULES for kind in rule.kinds}
    rows: list[tuple[str, str, str, int, str]] = []
    for kind, level in LEVEL_OF_KIND.items():
        sure = level is Level.PRESENT
        taken = {
            "exact": kind,
            "group": Kind.GROUP if sure else kind,
            "carrier": Kind.USUAL if sure else kind,
            "once": Kind.ONCE_MEMBER,
        }
        for how, said in taken.items():
            rule = rule_of[said]
            rows.append((kind.value, how, Strictness.TRACE.value, int(rule.trace), said.value))
            rows.append((kind.value, how, Strictness.INGREDIENT.value, int(rule.ingredient), said.value))
    return rows
