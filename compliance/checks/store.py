"""Write a run's result in bulk, and retire what it supersedes. The caller holds the transaction."""

from __future__ import annotations

from typing import TYPE_CHECKING

from compliance.checks.codec import fingerprint, type_json
from compliance.checks.verdicts import DishKey, verdict_row
from compliance.models import PreparedDish, RestrictionTypeRow, Run, RunRestriction, ServedDish, Verdict
from compliance.rules.values import RestrictionType
from menus.models import RecipeVersion

if TYPE_CHECKING:
    from compliance.checks.run import Result


def store(run: Run, result: Result) -> None:
    """Write dishes, verdicts and the restrictions read; earlier answers for the same servings no longer stand."""
    types = _types({period.type for period in result.periods})
    dishes = _dishes(run, result)
    _supersede(run)
    ServedDish.objects.bulk_create(
        [ServedDish(dish=dishes[key], serving=serving) for serving, key in result.served.items()], batch_size=500
    )
    Verdict.objects.bulk_create(
        [
            Verdict(dish=dishes[key], type=types[kind], **verdict_row(verdict))
            for (key, kind), verdict in result.verdicts.items()
        ],
        batch_size=500,
    )
    RunRestriction.objects.bulk_create(
        [
            RunRestriction(
                run=run,
                child_id=period.restriction.child_id,
                restriction=period.restriction,
                type=types[period.type],
                first_day=period.first,
                last_day=period.last,
            )
            for period in result.periods
        ],
        batch_size=500,
    )


def _types(kinds: set[RestrictionType]) -> dict[RestrictionType, RestrictionTypeRow]:
    keys = {fingerprint(type_json(kind)): kind for kind in kinds}
    RestrictionTypeRow.objects.bulk_create(
        [RestrictionTypeRow(key=key, **type_json(kind)) for key, kind in keys.items()], ignore_conflicts=True
    )
    return {keys[row.key]: row for row in RestrictionTypeRow.objects.filter(key__in=keys)}


def _dishes(run: Run, result: Result) -> dict[DishKey, PreparedDish]:
    versions = dict(RecipeVersion.objects.filter(pk__in=run.inputs["recipes"]).values_list("recipe_id", "pk"))
    rows = {
        key: PreparedDish(run=run, key=key.evidence, recipe_id=key.recipe, version_id=versions.get(key.recipe))
        for key in result.dishes
    }
    PreparedDish.objects.bulk_create(rows.values(), batch_size=500)
    return rows


def _supersede(run: Run) -> None:
    ServedDish.objects.standing().at(run.site, run.first_day, run.last_day).update(standing=False)
