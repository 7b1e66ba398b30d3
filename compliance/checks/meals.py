"""What the dishes of one meal say of one another, for children who keep two foods apart within a meal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from compliance.rules.values import RestrictionType
from menus.kitchen.onemeal import at_one_meal
from menus.kitchen.recipes import Pieces
from menus.models import Serving
from menus.substances.combinations import Combination, combinations


def with_meals(served: Mapping[Serving, Pieces], types: Iterable[RestrictionType]) -> dict[Serving, Pieces]:
    """Return every dish of one site with what the others of its meal add to it.

    Only where a restriction among `types` asks for it: elsewhere a dish stays the same at every meal, judged once.
    """
    known = combinations()
    wanted = [known[code] for code in sorted({kind.substance for kind in types} & set(known))]
    return _added(served, wanted) if wanted else dict(served)


def _added(served: Mapping[Serving, Pieces], wanted: Iterable[Combination]) -> dict[Serving, Pieces]:
    meals: dict[tuple[date, str], dict[int, Pieces]] = {}
    for serving, pieces in served.items():
        meals.setdefault((serving.date, serving.meal), {})[serving.pk] = pieces
    names = {serving.pk: serving.recipe.name for serving in served}
    result = dict(served)
    for combination in wanted:
        found = {pk: more for dishes in meals.values() for pk, more in at_one_meal(combination, dishes, names).items()}
        result = {serving: (*pieces, *found[serving.pk]) for serving, pieces in result.items()}
    return result
