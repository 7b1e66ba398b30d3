"""Dishes on hand as the rules judge them: by their recipe and labels, without the equipment that they would meet."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime

from compliance.checks.bulk.larder import larder_of
from compliance.checks.prepare import unknown
from compliance.rules.judge import judge
from compliance.rules.values import Outcome, RestrictionType
from menus.kitchen.onemeal import at_one_meal
from menus.kitchen.recipes import Pieces
from menus.models import Recipe, Site
from menus.substances.combinations import combinations


class OnHand:
    """Recipes of a site as they stand at a moment, folded once. Labels are judged by their age on `today`."""

    def __init__(self, site: Site, recipes: Iterable[Recipe], today: date, at: datetime) -> None:
        self._names = {recipe.pk: recipe.name for recipe in recipes}
        folded = larder_of(self._names, at).folded(site, today, self._names)
        self._pieces = {pk: folded.get(pk, unknown(name)) for pk, name in self._names.items()}
        self._judged: dict[tuple[int, RestrictionType, frozenset[int]], Outcome] = {}

    def outcome(self, recipe: int, kind: RestrictionType, meal: frozenset[int]) -> Outcome:
        """Return what the rules say of the dish for a type, at a meal of these recipes.

        The others of the meal count only for children who keep two foods apart within a meal: there the dish is judged
        beside all that is planned and on hand, which may withhold more than the tray that it would stand on.
        """
        beside = meal if kind.substance in combinations() else frozenset()
        at = (recipe, kind, beside)
        if at not in self._judged:
            self._judged[at] = judge(kind, self._beside(recipe, kind, beside)).outcome
        return self._judged[at]

    def _beside(self, recipe: int, kind: RestrictionType, meal: frozenset[int]) -> Pieces:
        own = self._pieces[recipe]
        if not meal:
            return own
        dishes = {pk: self._pieces[pk] for pk in sorted(meal | {recipe}) if pk in self._pieces}
        return (*own, *at_one_meal(combinations()[kind.substance], dishes, self._names)[recipe])
