"""What of the food a run's dishes rested on: versions of their recipes and labels, and the words accepted by then."""

from __future__ import annotations

from compliance.checks.food import recipe_facts
from compliance.models import Run
from menus.kitchen.recipes import reached
from menus.models import KitchenEvent, Label, Serving

Versions = dict[str, list[int]]
"""Ids by kind: recipes, labels, words."""


def read_by(run: Run) -> Versions:
    """Return the versions behind the run's dishes, out of the food of all sites that it read.

    Nothing for a run that failed before it had read anything. Five queries.
    """
    if run.food is None:
        return {"recipes": [], "labels": [], "words": []}
    recipes = recipe_facts(run.as_of, run.food.recipes)
    dishes, swapped_in = _named(run)
    held, products = reached(recipes, dishes)
    labels = Label.objects.filter(pk__in=run.food.labels, product__in=products | swapped_in)
    return {
        "recipes": sorted(recipes[recipe].version for recipe in held),
        "labels": sorted(labels.values_list("pk", flat=True)),
        "words": run.food.words,
    }


def _named(run: Run) -> tuple[set[int], set[int]]:
    """The recipes that its servings and records name, and the products that its records put in the place of others."""
    recipes = set(Serving.objects.filter(pk__in=run.inputs["servings"]).values_list("recipe", flat=True))
    events = KitchenEvent.objects.filter(pk__in=run.inputs["events"])
    named = list(events.values_list("serving__recipe", "batch__recipe", "product_in"))
    recipes |= {recipe for *dishes, _ in named for recipe in dishes if recipe}
    return recipes, {product for *_, product in named if product}
