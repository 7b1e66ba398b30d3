"""What the verdicts of many sites leave to ask: worked out once for all who avoid the same and are served the same."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from compliance.checks.bulk.attending import day_of, days_between, first_of
from compliance.checks.bulk.codes import outcomes
from compliance.checks.bulk.spans import Span
from compliance.checks.bulk.table import Table
from compliance.rules.values import Outcome

Wants = dict[str, dict[str, int]]
"""By subject and by the substance asked about: how many days after the window's first it is first needed."""


@dataclass(frozen=True, slots=True)
class Asks:
    """What is to be asked about one restriction at one site, and where that comes from."""

    span: Span
    column: int
    days: int  # on which the restriction holds and the child is there
    wants: Wants


class Wanted:
    """What the dishes of a table leave to ask, by what is served when: the same for all sites that serve the same."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self._known: dict[tuple[object, ...], Wants] = {}

    def of(self, column: int, met: tuple[tuple[int, int], ...]) -> Wants:
        """Return what rows that are `refer` for a type leave to ask, each with the days on which it is served."""
        key = (column, met)
        if key not in self._known:
            self._known[key] = self._worked_out(column, met)
        return self._known[key]

    def _worked_out(self, column: int, met: tuple[tuple[int, int], ...]) -> Wants:
        wants: Wants = {}
        for row, days in met:
            needed = first_of(days)
            for subject, about in self.table.raised.of(row, column):
                substances = wants.setdefault(subject, {})
                substances[about] = min(needed, substances.get(about, needed))
        return wants


@dataclass(slots=True)
class SiteWants:
    """What one site's dishes leave to ask."""

    wanted: Wanted
    site: int
    rows: dict[int, int] = field(default_factory=dict)  # the days on which each row is served
    refers: dict[int, list[int]] = field(default_factory=dict)  # rows that are `refer`, by column
    _wants: dict[tuple[int, int], Wants] = field(default_factory=dict)

    def __post_init__(self) -> None:
        table = self.wanted.table
        bits: dict[object, int] = {}
        for _, day, row in table.served[self.site]:
            if day not in bits:
                bits[day] = day_of(day, table.first)
            self.rows[row] = self.rows.get(row, 0) | bits[day]
        rows, columns = sorted(self.rows), sorted(set(self._columns().values()))
        found = outcomes(table.codes[np.ix_(rows, columns)]) == Outcome.REFER
        for column, place in np.argwhere(found.T).tolist():
            self.refers.setdefault(columns[column], []).append(rows[place])

    def asks(self) -> Iterator[Asks]:
        """Yield what is to be asked, for each restriction of which there is something to ask."""
        table, columns = self.wanted.table, self._columns()
        for span in table.spans[self.site]:
            column = columns[id(span.type)]
            if column in self.refers:
                days = days_between(span.first, span.last, table.first, table.last)
                days &= table.there.get((self.site, span.child), 0)
                if wants := self._of(column, days):
                    yield Asks(span, column, days, wants)

    def _columns(self) -> Mapping[int, int]:
        """The column of each type, by the identity of its object, which is found faster than by what is in it."""
        table = self.wanted.table
        kinds = {id(span.type): span.type for span in table.spans[self.site]}
        return {number: table.columns[kind] for number, kind in kinds.items()}

    def _of(self, column: int, days: int) -> Wants:
        key = (column, days)
        if key not in self._wants:
            met = tuple((row, on) for row in self.refers[column] if (on := self.rows[row] & days))
            self._wants[key] = self.wanted.of(column, met)
        return self._wants[key]
