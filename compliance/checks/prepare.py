"""Work out the dishes as prepared of one site between two days, from facts as they stood at one moment."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from compliance.checks.food import product_evidence, recipe_facts
from menus.kitchen.carryover import Clean, SurfaceFacts, Use, carry_over
from menus.kitchen.recipes import Pieces, RecipeFacts, fold, reached
from menus.labels.evidence import ANY, Evidence, Kind
from menus.models import Action, Label, PlanStep, Product, Serving, Site, Surface

LOOK_BACK = timedelta(days=14)
"""How far back equipment is followed that no daily wash makes clean, such as the oil of a fryer."""

CLOSING_WASH: dict[str, str] = {
    Surface.Material.NON_POROUS: "wash_rinse_sanitize",
    Surface.Material.HANDS: "soap_water_hands",
}
"""What ends a kitchen's day (common practice, no source). Oil and porous ware go into the next day as they are."""


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
        recipes, used = reached(self.recipes, {serving.recipe_id for serving in self.servings})
        return {
            "servings": sorted(serving.pk for serving in self.servings),
            "recipes": sorted(self.recipes[recipe].version for recipe in recipes),
            "labels": sorted(
                label.pk for product in self.products if product.pk in used for label in product.current_labels
            ),
            "steps": sorted(step.pk for step in self.steps),
        }


def load(site: Site, first: date, last: date, at: datetime) -> Facts:
    """Read the facts as they stood at that moment, with the days before that may have left something on equipment.

    Six queries, whatever the size.
    """
    return Facts(
        site=site,
        servings=list(
            Serving.objects.planned()
            .filter(site=site)
            .between(first - LOOK_BACK, last)
            .select_related("recipe")
            .order_by("pk")
        ),
        recipes=recipe_facts(at),
        products=list(Product.objects.with_label(at)),
        steps=list(PlanStep.objects.filter(site=site, withdrawn_at=None).select_related("surface").order_by("pk")),
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
        steps=list(PlanStep.objects.filter(pk__in=inputs["steps"]).select_related("surface").order_by("pk")),
    )


def prepared(facts: Facts, today: date) -> dict[Serving, Pieces]:
    """Return every serving's dish as prepared: folded recipes, and what the order of work carries over.

    Labels are judged by their age on `today`, the site's day on which the check is made.
    """
    products = {product.pk: product_evidence(product, on=today, site=facts.site) for product in facts.products}
    folded = fold(facts.recipes, products)
    dishes = {serving.pk: folded.get(serving.recipe_id, _unknown(serving)) for serving in facts.servings}
    surfaces = {step.surface_id: surface_facts(step.surface) for step in facts.steps}
    carried = carry_over(_events(facts, surfaces), surfaces, dishes)
    return {serving: carried[serving.pk] for serving in facts.servings}


def surface_facts(surface: Surface) -> SurfaceFacts:
    """Return the stored surface as the engine takes it."""
    return SurfaceFacts(surface.pk, surface.name, surface.material)


def _events(facts: Facts, surfaces: dict[int, SurfaceFacts]) -> Iterator[Use | Clean]:
    """Yield the usual order of work of each day on which something is served, and the wash that ends the day before."""
    for day, servings in _by_day(facts.servings).items():
        for surface in surfaces.values():
            if method := CLOSING_WASH.get(surface.material):
                yield Clean(datetime.combine(day, time.min), surface.id, method)
        for step in facts.steps:
            at = datetime.combine(day, step.at)
            if step.action == Action.CLEAN:
                yield Clean(at, step.surface_id, step.method)
            for serving in servings:
                if serving.recipe_id == step.recipe_id and serving.meal == step.meal:
                    yield Use(at, step.surface_id, serving.pk)


def _by_day(servings: Iterable[Serving]) -> dict[date, list[Serving]]:
    days: dict[date, list[Serving]] = {}
    for serving in servings:
        days.setdefault(serving.date, []).append(serving)
    return days


def _unknown(serving: Serving) -> Pieces:
    return (Evidence(ANY, Kind.UNIDENTIFIED, term=f"{serving.recipe.name}: a recipe without lines"),)
