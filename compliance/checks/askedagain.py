"""Questions after a change of food: only about children for whom a dish leaves other questions than it did.

Their days are read from what is stored once the new dishes stand, as a table of the dishes that leave them something to
ask; the questions are then opened and taken back as at night.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from django.db.models import QuerySet

from compliance.checks.bulk.asked import ask_for
from compliance.checks.bulk.attending import There, there
from compliance.checks.bulk.codes import Codes, outcomes
from compliance.checks.bulk.larder import Larder
from compliance.checks.bulk.spans import Span
from compliance.checks.bulk.sparse import placed, places
from compliance.checks.bulk.table import Table
from compliance.checks.explain import type_of
from compliance.checks.packed import Packed
from compliance.checks.packed import unpacked as pieces_of
from compliance.models import (
    DishVerdicts,
    Panel,
    PreparedDish,
    Referral,
    RestrictionTypeRow,
    Run,
    RunRestriction,
    ServedDish,
)
from compliance.rules.values import Outcome


def ask_again(
    runs: Mapping[int, Run], reads_of: Mapping[int, int], panel: Panel, kinds: Collection[int], larder: Larder
) -> dict[int, list[Referral]]:
    """Open and take back the questions of the sites of these runs, for children who hold one of the types.

    `reads_of`: by site, the run under which its restrictions stand. The new dishes stand for their servings already,
    and the caller holds the transaction. Returns the referrals opened, by site. Some dozen queries.
    """
    if not kinds:
        return {site: [] for site in runs}
    under = {run: site for site, run in reads_of.items()}
    held = RunRestriction.objects.filter(run__in=under, type__in=kinds).order_by()
    of_them = RunRestriction.objects.filter(run__in=under, child__in=held.values("child")).order_by("restriction")
    return ask_for(_table(runs, under, panel, of_them, larder), runs, only=of_them)


@dataclass
class _Stood(Table):
    """What stands, for some of the children: only the dishes that leave something to ask for one of their types."""

    about: QuerySet[RunRestriction] = field(default_factory=RunRestriction.objects.none)
    keys: list[str] = field(default_factory=list)  # of each dish

    @cached_property
    def stored(self) -> list[Packed]:
        """Each dish as it is stored, its pieces in the order in which they are stored."""
        pairs = zip(self.keys, self.dishes, strict=True)
        return [Packed(key, b"", tuple(range(len(pieces)))) for key, pieces in pairs]

    @cached_property
    def there(self) -> There:
        """On which days these children attend the sites. One query."""
        return there(self.served, self.first, self.last, self.about)


def _table(
    runs: Mapping[int, Run], under: Mapping[int, int], panel: Panel, about: QuerySet[RunRestriction], larder: Larder
) -> _Stood:
    run = next(iter(runs.values()))
    rows = list(about.values_list("run", "restriction", "child", "type", "first_day", "last_day"))
    types = RestrictionTypeRow.objects.in_bulk({kind for *_, kind, _, _ in rows})
    kinds = {pk: type_of(row) for pk, row in types.items()}
    spans: dict[int, list[Span]] = {site: [] for site in runs}
    for of_run, restriction, child, kind, first, last in rows:
        spans[under[of_run]].append(Span(restriction, child, kinds[kind], first, last))
    table = _Stood(run.first_day, run.last_day, run.as_of, larder, spans, list(kinds.values()), about=about)
    row_of = _add_dishes(table, _refers(runs, panel, list(kinds)))
    table.served = {site: [] for site in runs}
    served = ServedDish.objects.filter(dish__in=row_of, **_of(runs))
    for serving, site, day, dish in served.values_list("serving", "serving__site", "serving__date", "dish"):
        table.served[site].append((serving, day, row_of[dish]))
    return table


def _refers(runs: Mapping[int, Run], panel: Panel, kinds: Sequence[int]) -> dict[int, Codes]:
    """Return by dish what it is for each of the types, of those served that are `refer` for one of them."""
    where = places(kinds)
    dishes = ServedDish.objects.filter(**_of(runs)).order_by().values("dish").distinct()
    found: dict[int, Codes] = {}
    for dish, stored in DishVerdicts.objects.filter(panel=panel, dish__in=dishes).values_list("dish", "codes"):
        row = placed(bytes(stored), where, len(kinds))
        if (outcomes(row) == Outcome.REFER).any():
            found[dish] = row
    return found


def _add_dishes(table: _Stood, codes: Mapping[int, Codes]) -> dict[int, int]:
    """Add the dishes, and return the row of each."""
    row_of: dict[int, int] = {}
    stored = PreparedDish.objects.filter(pk__in=codes).values_list("pk", "key", "recipe", "evidence")
    for row, (dish, key, recipe, evidence) in enumerate(stored):
        row_of[dish] = row
        table.keys.append(key)
        table.recipes.append(recipe)
        table.dishes.append(pieces_of(bytes(evidence)))
    table.codes = np.array([codes[dish] for dish in row_of], dtype=np.uint32).reshape(len(row_of), len(table.types))
    return row_of


def _of(runs: Mapping[int, Run]) -> dict[str, Any]:
    """What tells the servings of these runs, all of one window, that are still on the plan."""
    run = next(iter(runs.values()))
    days = (run.first_day, run.last_day)
    return {"serving__site__in": runs, "serving__date__range": days, "serving__withdrawn_at": None}
