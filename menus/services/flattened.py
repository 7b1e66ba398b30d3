"""Recipes with all that goes into them: parts of dishes taken apart down to products, each in its share."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from django.utils import timezone

from menus.kitchen.graph import check_acyclic
from menus.mealpattern.crediting.recipe import Ingredient
from menus.models import Product, RecipeLine, RecipeVersion

WEIGHTS = frozenset({"mg", "g", "kg", "oz", "lb"})
PORTIONS = frozenset({"serving", "servings", "portion", "portions"})
HOLDERS = frozenset({"can", "jar", "bag", "box", "carton", "pack", "bottle"})
_SIZE = re.compile(r"^\d+(?:\.\d+)?[\s-]*(?:oz|lb)\.?$")


@dataclass(frozen=True, slots=True)
class FlatLine:
    """One product of a dish, for all of its servings. `product` is None where a part of the dish could not be read."""

    ingredient: Ingredient
    product: Product | None

    @property
    def quantity(self) -> str:
        """The quantity as text."""
        return self.ingredient.weight or self.ingredient.measure


@dataclass(frozen=True, slots=True)
class FlatRecipe:
    """A recipe as it stands, down to products."""

    servings: int
    lines: tuple[FlatLine, ...]


@dataclass(frozen=True, slots=True)
class _Version:
    servings: int
    lines: tuple[RecipeLine, ...]


def flattened(recipes: Iterable[int]) -> dict[int, FlatRecipe]:
    """Return each recipe by its id, of which any version is on record. Two queries for each depth of parts."""
    wanted = set(recipes)
    versions = _versions(wanted)
    return {pk: _flat(pk, versions) for pk in wanted if pk in versions}


def _versions(recipes: set[int]) -> dict[int, _Version]:
    """The newest versions of the recipes, and of all that they hold."""
    found: dict[int, _Version] = {}
    asked: set[int] = set()
    while missing := recipes - asked:
        asked |= missing
        current = RecipeVersion.objects.current(timezone.now()).filter(recipe__in=missing)
        for version in current.prefetch_related("lines__product", "lines__sub_recipe"):
            found[version.recipe_id] = _Version(version.servings, tuple(version.lines.all()))
        recipes = {line.sub_recipe_id for each in found.values() for line in each.lines if line.sub_recipe_id}
    return found


def _flat(pk: int, versions: Mapping[int, _Version]) -> FlatRecipe:
    graph = {
        each: [line.sub_recipe_id for line in version.lines if line.sub_recipe_id] for each, version in versions.items()
    }
    check_acyclic(graph, [pk])  # a recipe that holds itself is refused on the way in
    return FlatRecipe(versions[pk].servings, tuple(_lines(pk, Fraction(1), versions)))


def _lines(pk: int, share: Fraction, versions: Mapping[int, _Version]) -> list[FlatLine]:
    found: list[FlatLine] = []
    for line in versions[pk].lines:
        amount = Fraction(line.quantity) * share
        if line.product:
            found.append(FlatLine(_ingredient(line.product.name, amount, line), line.product))
        elif (held := line.sub_recipe_id) and held in versions and line.unit.casefold() in PORTIONS:
            part = amount / versions[held].servings
            found.extend(_lines(held, part, versions))
        else:
            found.append(FlatLine(_ingredient(f"{line.sub_recipe} (a part of the dish)", amount, line), None))
    return found


def _ingredient(name: str, amount: Fraction, line: RecipeLine) -> Ingredient:
    unit, note = line.unit, line.note.strip()
    if unit.casefold() in HOLDERS and _SIZE.match(note):
        unit, note = f"{note.replace(' ', '-')} {unit}", ""
    full = f"{name}, {note}" if note else name
    text = f"{written(amount)} {unit}"
    return Ingredient(full, weight=text) if line.unit.casefold() in WEIGHTS else Ingredient(full, measure=text)


def written(amount: Fraction) -> str:
    """Return an amount as a recipe writes it: whole, in decimals where these end soon, or as a fraction."""
    rest = amount.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest == 1 and amount.denominator <= 1000:
        return f"{float(amount):.10g}"
    return f"{amount.numerator}/{amount.denominator}"
