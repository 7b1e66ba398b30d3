"""Exceptions as tables for a terminal: one a day and site, one line a dish, restriction and reason."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from rich import box
from rich.table import Table
from rich.text import Text

from compliance.checks.exceptions import ExceptionRow
from compliance.rules.values import Outcome

WIDTH = 118
"""Columns that a table is laid out for where there is no terminal to ask."""

STYLES = {Outcome.WITHHOLD: "reverse", Outcome.REFER: "underline"}
"""The words say it; the style lets the eye find it, on paper and without colours too."""


def tables(rows: Iterable[ExceptionRow]) -> list[Table]:
    """Return one table for each day and site, in the order of the rows."""
    return [_table(list(group)) for _, group in groupby(rows, key=lambda row: (row.date, row.site))]


def _table(rows: list[ExceptionRow]) -> Table:
    table = Table(
        title=f"{rows[0].date:%A %Y-%m-%d}, {rows[0].site}",
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        expand=True,
        padding=(0, 1, 0, 0),
    )
    table.add_column("Meal", no_wrap=True)
    table.add_column("Dish", ratio=3)
    table.add_column("May not have", ratio=2)
    table.add_column("Outcome", no_wrap=True)
    table.add_column("Children", ratio=4)
    table.add_column("Because", ratio=5)
    before = ("", "")
    for outcome, meal, dish, *cells in _lines(rows):
        first = (meal, dish) != before
        before = (meal, dish)
        substance, children, because = cells
        word = Text(outcome.words, STYLES[outcome])
        table.add_row(meal if first else "", dish if first else "", substance, word, children, because)
    return table


def _lines(rows: list[ExceptionRow]) -> Iterator[tuple[Outcome, str, str, str, str, str]]:
    """Yield outcome, meal, dish, substance, children and reason, those of one reason put together."""
    together: dict[tuple[str, str, str, Outcome, str], list[ExceptionRow]] = {}
    for row in rows:
        together.setdefault((row.meal, row.dish, row.substance_name, row.outcome, _because(row)), []).append(row)
    for (meal, dish, substance, outcome, because), found in together.items():
        yield outcome, meal, dish, substance, _children(found), because


def _because(row: ExceptionRow) -> str:
    reason = row.main_reason
    words = f" “{reason.words}”" if reason.words else ""
    more = f" (and {len(row.reasons) - 1} more)" if len(row.reasons) > 1 else ""
    return f"{reason.title}: {reason.name_of('product') or row.dish}{words}{more}"


def _children(rows: list[ExceptionRow]) -> str:
    rooms: dict[str, list[str]] = {}
    for row in rows:
        rooms.setdefault(row.classroom.name, []).append(str(row.child))
    return "; ".join(f"{room}: {', '.join(names)}" for room, names in sorted(rooms.items()))
