"""Dishes as meal patterns take them: what a serving credits, what it is beside that, and what it holds."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from django.utils import timezone

from menus.mealpattern.crediting.drinks import Special, special
from menus.mealpattern.crediting.grains import is_dessert, whole_grain_rich
from menus.mealpattern.crediting.recipe import Ingredient
from menus.mealpattern.crediting.recipe import Recipe as PureRecipe
from menus.mealpattern.crediting.totals import Crediting, credit
from menus.mealpattern.nutrients.panel import Panel
from menus.mealpattern.nutrients.serving import Held, Weighed, held
from menus.mealpattern.nutrients.weighing import grams
from menus.models import ProductNutrition, Recipe
from menus.models.nutrition import NUTRIENTS
from menus.services.flattened import FlatLine, FlatRecipe, flattened, written


@dataclass(frozen=True, slots=True)
class Dish:
    """A recipe as it stands now. `crediting` is None where no version of it is on record."""

    recipe_id: int
    name: str
    crediting: Crediting | None
    held: Held
    special: Special
    whole_grain_rich: bool | None
    dessert: bool
    grains_said: tuple[str, ...]


def dishes(recipes: Iterable[Recipe]) -> dict[int, Dish]:
    """Return each recipe's dish by its id. Three queries, and two more for each depth of parts."""
    by_pk = {recipe.pk: recipe for recipe in recipes}
    flat = flattened(by_pk)
    products = {line.product.pk for each in flat.values() for line in each.lines if line.product}
    panels = panels_of(products)
    return {pk: _dish(recipe, flat.get(pk), panels) for pk, recipe in by_pk.items()}


def panels_of(products: Iterable[int]) -> dict[int, Panel]:
    """Return what is on record of what the products hold, by product. One query."""
    rows = ProductNutrition.objects.current(timezone.now()).filter(product__in=list(products))
    return {row.product_id: _panel(row) for row in rows}


def _dish(recipe: Recipe, flat: FlatRecipe | None, panels: Mapping[int, Panel]) -> Dish:
    if flat is None:
        return Dish(recipe.pk, recipe.name, None, Held(None), Special(), None, False, ())
    found = _credited(recipe.name, flat, panels)
    rich, said = whole_grain_rich(found.lines)
    return Dish(
        recipe_id=recipe.pk,
        name=recipe.name,
        crediting=found,
        held=held(_weighed(flat, panels)),
        special=special(found.lines),
        whole_grain_rich=rich,
        dessert=is_dessert(recipe.name, found.lines),
        grains_said=said,
    )


def _credited(title: str, flat: FlatRecipe, panels: Mapping[int, Panel]) -> Crediting:
    """Credit the lines as they are written; what is asked for then and is counted in pieces goes by their weight.

    A part of a dish of which nobody knows the share is asked, whatever its name would credit.
    """
    lines = [line for line in flat.lines if line.product]
    plain = tuple(line.ingredient for line in lines)
    found = credit(PureRecipe(flat.servings, plain, title=title), drinks=True)
    weighed = tuple(
        _by_weight(line, panels) if said.asked else line.ingredient
        for line, said in zip(lines, found.lines, strict=True)
    )
    if weighed != plain:
        found = credit(PureRecipe(flat.servings, weighed, title=title), drinks=True)
    untold = [line.ingredient.name for line in flat.lines if line.product is None]
    said = [f"{name}: not credited, ask: how many servings of it go in is not said." for name in untold]
    return replace(found, ask=(*found.ask, *untold), arithmetic=(*said, *found.arithmetic))


def _by_weight(line: FlatLine, panels: Mapping[int, Panel]) -> Ingredient:
    """The same line with the weight of its pieces beside their count, where a panel tells it."""
    panel = panels.get(line.product.pk) if line.product else None
    weight = grams(line.quantity, replace(panel, edible=Fraction(1))) if panel and not line.ingredient.weight else None
    return replace(line.ingredient, weight=f"{written(weight)} g") if weight else line.ingredient


def _weighed(flat: FlatRecipe, panels: Mapping[int, Panel]) -> Iterable[Weighed]:
    for line in flat.lines:
        panel = panels.get(line.product.pk) if line.product else None
        weight = grams(line.quantity, panel)
        yield Weighed(line.ingredient.name, None if weight is None else weight / flat.servings, panel)


def _panel(row: ProductNutrition) -> Panel:
    stated = {name: getattr(row, name) for name in NUTRIENTS}
    return Panel(
        basis_g=Fraction(row.basis_g),
        amounts={name: Fraction(value) for name, value in stated.items() if value is not None},
        piece_g=_fraction(row.piece_g),
        cup_g=_fraction(row.cup_g),
        edible=Fraction(row.edible),
        source=f"{row.get_source_display()}{f', NDB {row.ndb_no}' if row.ndb_no else ''}",
    )


def _fraction(value: Decimal | None) -> Fraction | None:
    return None if value is None else Fraction(value)
