"""Work out the dishes as prepared of one site between two days, from facts as they stood at one moment."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from compliance.checks.food import product_evidence, recipe_facts
from menus.kitchen.carryover import Clean, SurfaceFacts, Use, carry_over
from menus.kitchen.recipes import Pieces, RecipeFacts, fold
from menus.labels.evidence import ANY, Evidence, Kind
from menus.models import Action, Label, PlanStep, Product, Serving, Site


@dataclass(frozen=True, slots=True)
class Facts:
    """The stored facts that one check reads, and nothing else. `inputs` names them so that a run can be recomputed."""

    site: Site
    servings: list[Serving]
    recipes: dict[int, RecipeFacts]
    products: list[Product]
    steps: list[PlanStep]

    @property
    def inputs(self) -> dict[str, Any]:
        """Ids of every version read."""
        used, recipes = self._needed()
        return {
            "servings": sorted(serving.pk for serving in self.servings),
            "recipes": sorted(self.recipes[recipe].version for recipe in recipes if recipe in self.recipes),
            "labels": sorted(
                label.pk for product in self.products if product.pk in used for label in product.current_labels
            ),
            "steps": sorted(step.pk for step in self.steps),
        }

    def _needed(self) -> tuple[set[int], set[int]]:
        """Product and recipe ids that the servings reach."""
        products: set[int] = set()
        recipes: set[int] = set()
        todo = [serving.recipe_id for serving in self.servings]
        while todo:
            recipe = todo.pop()
            if recipe in recipes:
                continue
            recipes.add(recipe)
            if facts := self.recipes.get(recipe):
                products.update(facts.products)
                todo.extend(facts.recipes)
        return products, recipes


def load(site: Site, first: date, last: date, at: datetime) -> Facts:
    """Read the facts as they stood at that moment. Six queries, whatever the size."""
    return Facts(
        site=site,
        servings=list(
            Serving.objects.planned().filter(site=site).between(first, last).select_related("recipe").order_by("pk")
        ),
        recipes=recipe_facts(at),
        products=list(Product.objects.with_label(at)),
        steps=list(PlanStep.objects.filter(site=site, withdrawn_at=None).select_related("surface")),
    )


def reload(site: Site, inputs: dict[str, Any], at: datetime) -> Facts:
    """Read again exactly the versions that a run named."""
    labels = {label.product_id: label for label in Label.objects.filter(pk__in=inputs["labels"])}
    products = list(Product.objects.all())
    for product in products:
        product.current_labels = [labels[product.pk]] if product.pk in labels else []
        for label in product.current_labels:
            label.product = product
    return Facts(
        site=site,
        servings=list(Serving.objects.filter(pk__in=inputs["servings"]).select_related("recipe").order_by("pk")),
        recipes=recipe_facts(at, inputs["recipes"]),
        products=products,
        steps=list(PlanStep.objects.filter(pk__in=inputs["steps"]).select_related("surface")),
    )


def prepared(facts: Facts, today: date) -> dict[Serving, Pieces]:
    """Return every serving's dish as prepared: folded recipes, and what the meal's order of work carries over.

    Labels are judged by their age on `today`, the site's day on which the check is made.
    """
    products = {product.pk: product_evidence(product, on=today, site=facts.site) for product in facts.products}
    folded = fold(facts.recipes, products)
    result: dict[Serving, Pieces] = {}
    for servings in _by_day(facts.servings).values():
        result.update(_day(facts, servings, folded))
    return result


def _by_day(servings: Iterable[Serving]) -> dict[date, list[Serving]]:
    days: dict[date, list[Serving]] = {}
    for serving in servings:
        days.setdefault(serving.date, []).append(serving)
    return days


def _day(facts: Facts, servings: list[Serving], folded: dict[int, Pieces]) -> dict[Serving, Pieces]:
    dishes = {serving.pk: folded.get(serving.recipe_id, _unknown(serving)) for serving in servings}
    surfaces = {
        step.surface_id: SurfaceFacts(step.surface_id, step.surface.name, step.surface.material) for step in facts.steps
    }
    events: list[Use | Clean] = []
    for step in facts.steps:
        if step.action == Action.CLEAN:
            events.append(Clean(step.at, step.surface_id, step.method))
            continue
        events.extend(
            Use(step.at, step.surface_id, serving.pk)
            for serving in servings
            if serving.recipe_id == step.recipe_id and serving.meal == step.meal
        )
    carried = carry_over(events, surfaces, dishes)
    return {serving: carried[serving.pk] for serving in servings}


def _unknown(serving: Serving) -> Pieces:
    return (Evidence(ANY, Kind.UNIDENTIFIED, term=f"{serving.recipe.name}: a recipe without lines"),)
