"""What a question of a check says: worked out once for all children who avoid the same and meet the same dishes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from compliance.checks.bulk.attending import day_of, first_of
from compliance.checks.bulk.table import Table
from compliance.checks.bulk.wanted import Asks, SiteWants
from compliance.checks.explain import reasons_for
from compliance.checks.questions import Raised, is_open, subject_of, worded
from compliance.checks.reasons import Reason
from menus.models import Serving
from menus.models.cycle import MEAL_ORDER


@dataclass
class Wordings:
    """The columns of questions, each made once."""

    table: Table
    _reasons: dict[tuple[int, int], list[Raised]] = field(default_factory=dict)
    _made: dict[tuple[object, ...], dict[str, Any]] = field(default_factory=dict)

    def of(self, wants: SiteWants, asks: Iterable[Asks], subject: str, about: frozenset[str]) -> dict[str, Any]:
        """Return the columns that tell what is asked about these substances, by what a restriction comes down to."""
        met = self._in_order(wants, asks)
        key = (subject, about, *met)
        if key not in self._made:
            same = [
                raised
                for row, column in met
                for raised in self._open(row, column)
                if raised[0].substance in about and self._subject(raised, column) == subject
            ]
            self._made[key] = worded(same, same[0], self.table.types[met[0][1]].substance)
        return self._made[key]

    def _subject(self, raised: Raised, column: int) -> str:
        reason, food = raised
        return subject_of(reason, self.table.types[column].substance, food)

    def _in_order(self, wants: SiteWants, asks: Iterable[Asks]) -> list[tuple[int, int]]:
        """Return what is `refer`, row and column, in the order in which the dishes are first served."""
        order = {
            (row, each.column): (first_of(on), *self._place[wants.site, row, first_of(on)])
            for each in asks
            for row in wants.refers[each.column]
            if (on := wants.rows[row] & each.days)
        }
        return sorted(order, key=order.__getitem__)

    def _open(self, row: int, column: int) -> list[Raised]:
        if (row, column) not in self._reasons:
            kind, name = self.table.types[column], self.table.names[self.table.recipes[row]]
            pieces = [self.table.dishes[row][place] for place in self.table.stored[row].order]
            self._reasons[row, column] = [
                (reason, _food(reason, name)) for reason in reasons_for(tuple(pieces), kind) if is_open(reason)
            ]
        return self._reasons[row, column]

    @cached_property
    def _place(self) -> dict[tuple[int, int, int], tuple[int, str, int]]:
        """Where in the order of a day each dish of a site first stands: by meal, name and serving. One query."""
        planned = Serving.objects.filter(site__in=self.table.served).between(self.table.first, self.table.last)
        meals = {pk: MEAL_ORDER[meal] for pk, meal in planned.values_list("pk", "meal")}
        found: dict[tuple[int, int, int], tuple[int, str, int]] = {}
        for site, served in self.table.served.items():
            for serving, day, row in served:
                key = (site, row, first_of(day_of(day, self.table.first)))
                place = (meals[serving], self.table.names[self.table.recipes[row]], serving)
                found[key] = min(place, found.get(key, place))
        return found


def _food(reason: Reason, dish: str) -> str:
    return reason.name_of("product") or dish
