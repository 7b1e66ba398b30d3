"""The exceptions of one site on one day, read from the verdicts that were written together, as a page would."""

from __future__ import annotations

from datetime import date

from django.db import connection

from compliance.benchmarks.stopwatch import Stopwatch
from compliance.checks.bulk.codes import outcomes
from compliance.checks.bulk.sparse import unpacked
from compliance.rules.values import Outcome
from menus.models import Site

DISHES = """
SELECT s.serving, v.codes
FROM menus_serving m JOIN benchmark_served s ON s.serving = m.id JOIN benchmark_verdict v ON v.dish = s.dish
WHERE m.site_id = %s AND m.date = %s AND m.withdrawn_at IS NULL
"""
CHILDREN = "SELECT child, restriction, type FROM benchmark_read WHERE site = %s AND first_day <= %s AND last_day >= %s"


def exceptions_of(site: Site, day: date, watch: Stopwatch) -> int:
    """Return how many exceptions the site has on that day; `together day` is timed. Two queries."""
    with watch.time("together day"), connection.cursor() as cursor:
        cursor.execute(DISHES, (site.pk, day))
        dishes = cursor.fetchall()
        cursor.execute(CHILDREN, (site.pk, day, day))
        children = cursor.fetchall()
        return sum(_met(bytes(codes), children) for _, codes in dishes)


def _met(stored: bytes, children: list[tuple[int, int, int]]) -> int:
    columns, codes = unpacked(stored)
    grave = set(columns[outcomes(codes) >= Outcome.REFER].tolist())
    return sum(kind in grave for *_, kind in children)
