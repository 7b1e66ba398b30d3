"""Stored verdicts as numbers: the outcome of many dishes for many restriction types, and what each leaves to ask."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

import numpy as np
import numpy.typing as npt

from compliance.checks.bulk.codes import outcomes
from compliance.checks.bulk.raised import Dish, Raised
from compliance.checks.bulk.sparse import placed, places
from compliance.checks.bulk.table import Table
from compliance.checks.explain import type_of
from compliance.checks.packed import unpacked as pieces_of
from compliance.models import DishVerdicts, PreparedDish, RestrictionTypeRow
from compliance.rules.values import RestrictionType

Outcomes = npt.NDArray[np.uint8]


class Judged:
    """What panels found of dishes, all by their ids. Two queries, and one more where a dish itself is asked for."""

    def __init__(self, pairs: Iterable[tuple[int, int]], types: Iterable[int]) -> None:
        """Read the verdicts of these dishes, each by its panel, for these restriction types."""
        self._place = {pair: number for number, pair in enumerate(dict.fromkeys(pairs), start=1)}
        self._column = {kind: number for number, kind in enumerate(dict.fromkeys(types))}
        self._outcomes = self._read()

    def places(self, pairs: Iterable[tuple[int, int] | None]) -> npt.NDArray[np.intp]:
        """Return where each dish stands; None: there is none, and nothing to say of it."""
        return np.array([self._place[pair] if pair else 0 for pair in pairs], dtype=np.intp)

    def outcomes(self, places: npt.NDArray[np.intp], kind: int) -> Outcomes:
        """Return the outcomes of the dishes that stand there for one type, as the values of Outcome."""
        found: Outcomes = self._outcomes[places, self._column[kind]]
        return found

    def _read(self) -> Outcomes:
        found = np.zeros((len(self._place) + 1, len(self._column)), dtype=np.uint8)
        if not self._column:
            return found
        where = places(self._column)
        rows = DishVerdicts.objects.filter(
            panel__in={panel for _, panel in self._place}, dish__in={dish for dish, _ in self._place}
        )
        for dish, panel, stored in rows.values_list("dish", "panel", "codes"):
            if place := self._place.get((dish, panel)):
                found[place] = outcomes(placed(bytes(stored), where, len(self._column)))
        return found

    @cached_property
    def types(self) -> dict[int, RestrictionType]:
        """The types that were asked for. One query."""
        return {row.pk: type_of(row) for row in RestrictionTypeRow.objects.filter(pk__in=self._column)}


class Waits:
    """Which answers a dish waits for, where its outcome is `refer`. A dish of the table is not read again."""

    def __init__(self, judged: Judged, dishes: Iterable[int], table: Table | None, rows: Mapping[int, int]) -> None:
        """Of these dishes; `rows`: where those of the table stand."""
        self._judged, self._table, self._rows = judged, table, rows
        self._others = [dish for dish in dishes if dish not in rows]
        self._raised = Raised(self._dish, judged.types.__getitem__)
        self._known: dict[tuple[int, int], tuple[str, ...]] = {}

    def of(self, dish: int, kind: int) -> tuple[str, ...]:
        """Return the subjects of the questions, sorted."""
        if (dish, kind) not in self._known:
            row, column = self._rows.get(dish), self._columns.get(kind)
            if self._table is not None and row is not None and column is not None:
                asked = self._table.raised.of(row, column)
            else:
                asked = self._raised.of(dish, kind)
            self._known[dish, kind] = tuple(sorted({subject for subject, _ in asked}))
        return self._known[dish, kind]

    def _dish(self, dish: int) -> Dish:
        row = self._rows.get(dish)
        if self._table is not None and row is not None:  # for a type that is held no more
            return self._table.dish(row)
        evidence, name = self._stored[dish]
        return Dish(pieces_of(evidence), lambda: name)

    @cached_property
    def _columns(self) -> dict[int, int]:
        """Where types of the table stand, by their ids."""
        columns = self._table.columns if self._table else {}
        return {pk: columns[kind] for pk, kind in self._judged.types.items() if kind in columns}

    @cached_property
    def _stored(self) -> dict[int, tuple[bytes, str]]:
        rows = PreparedDish.objects.filter(pk__in=self._others).values_list("pk", "evidence", "recipe__name")
        return {pk: (bytes(evidence), name) for pk, evidence, name in rows}
