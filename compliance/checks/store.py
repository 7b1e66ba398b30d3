"""Write what was worked out for many sites, and let it stand. The caller holds the transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from operator import itemgetter

import numpy as np
from django.utils import timezone

from compliance.checks.bulk.rows import insert, upsert
from compliance.checks.bulk.sparse import packed
from compliance.checks.bulk.table import Table
from compliance.checks.codec import fingerprint, type_json
from compliance.checks.edition import edition
from compliance.checks.prunelock import hold_off_pruning
from compliance.models import (
    CheckedDay,
    DishVerdicts,
    Panel,
    PreparedDish,
    RestrictionTypeRow,
    Run,
    RunRestriction,
    ServedDish,
)


@dataclass(frozen=True, slots=True)
class Stored:
    """What a table's rows and columns are in the database."""

    panel: Panel
    dishes: list[int]  # ids, row by row
    types: list[int]  # ids, column by column


def store_verdicts(table: Table) -> Stored:
    """Write the dishes, the restriction types and the verdicts of the table; what is there already stays as it is."""
    hold_off_pruning()
    types = _types(table)
    panel = _panel(table, types)
    dishes = _dishes(table)
    columns = np.asarray(types, dtype=np.uint32)
    codes = {dish: (dish, panel.pk, packed(columns, table.pointed(row))) for row, dish in enumerate(dishes)}
    upsert(DishVerdicts, ("dish", "panel", "codes"), codes.values(), unique=("dish", "panel"))
    return Stored(panel, dishes, types)


def stand(table: Table, stored: Stored, runs: Mapping[int, Run]) -> None:
    """Let the table's verdicts stand for the sites of the runs (by site), on all its days."""
    upsert(
        ServedDish,
        ("serving", "dish"),
        [(serving, stored.dishes[row]) for site in runs for serving, _, row in table.served[site]],
        unique=("serving",),
    )
    insert(
        RunRestriction,
        ("run", "child", "restriction", "type", "first_day", "last_day"),
        [
            (run.pk, span.child, span.restriction, stored.types[table.columns[span.type]], span.first, span.last)
            for site, run in runs.items()
            if run.same_as_id is None
            for span in table.spans[site]
        ],
    )
    days = [table.first + timedelta(days=n) for n in range((table.last - table.first).days + 1)]
    upsert(
        CheckedDay,
        ("site", "day", "run"),
        [(site, day, run.pk) for site, run in runs.items() for day in days],
        unique=("site", "day"),
    )


def _types(table: Table) -> list[int]:
    keys = table.type_keys
    ids = _ids(keys)
    if missing := {key: kind for key, kind in zip(keys, table.types, strict=True) if key not in ids}:
        # In one order, so that two who store the same at once wait for each other and never in a ring.
        rows = [
            RestrictionTypeRow(key=key, **type_json(kind)) for key, kind in sorted(missing.items(), key=itemgetter(0))
        ]
        RestrictionTypeRow.objects.bulk_create(rows, ignore_conflicts=True)
        ids |= _ids(missing)
    return [ids[key] for key in keys]


def _ids(keys: Iterable[str]) -> dict[str, int]:
    return dict(RestrictionTypeRow.objects.filter(key__in=list(keys)).values_list("key", "pk"))


def _panel(table: Table, types: Sequence[int]) -> Panel:
    key = fingerprint([edition(), *table.type_keys])
    panel, _ = Panel.objects.get_or_create(key=key, defaults={"edition": edition(), "types": list(types)})
    return panel


def _dishes(table: Table) -> list[int]:
    """Return the id of each row's dish, having written those that are new."""
    keys = [dish.key for dish in table.stored]
    ids = _known(keys)
    if missing := {dish.key: row for row, dish in enumerate(table.stored) if dish.key not in ids}:
        versions, now = table.larder.recipes, timezone.now()
        upsert(
            PreparedDish,
            ("key", "recipe", "version", "evidence", "made_at"),
            [
                (key, recipe, versions[recipe].version if recipe in versions else None, dish.evidence, now)
                for key, row in missing.items()
                for recipe, dish in ((table.recipes[row], table.stored[row]),)
            ],
            unique=("key",),
            change=False,
        )
        ids |= _known(missing)
    return [ids[key] for key in keys]


def _known(keys: Iterable[str]) -> dict[str, int]:
    return dict(PreparedDish.objects.filter(key__in=list(keys)).values_list("key", "pk"))
