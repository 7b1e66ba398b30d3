"""The stored facts that a check reads, as they stood at one moment, and which they were."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any

from compliance.checks.dayline import Entry, Kitchen, State, batch_key, line
from compliance.checks.kitchens import kitchens_for
from menus.kitchen.recipes import RecipeFacts
from menus.models import Deed, Delivery, KitchenEvent, PlanStep, Product, Serving, Site, Surface, WordReview
from menus.models.event import standing


@dataclass(frozen=True, slots=True)
class Then:
    """Recipes and products as they stood on the day on which a batch was made that is left over now."""

    recipes: dict[int, RecipeFacts]
    products: list[Product]


@dataclass(frozen=True)
class Facts:
    """What one check reads, and nothing else. `inputs` and the food read name it all: a run can be recomputed."""

    site: Site
    at: datetime
    servings: list[Serving]  # of the site: these are judged
    others: list[Serving]  # of other sites, cooked in the same kitchens
    recipes: dict[int, RecipeFacts]
    products: list[Product]
    words: list[WordReview]
    steps: list[PlanStep]
    deliveries: list[Delivery]
    events: list[KitchenEvent]
    then: dict[int, Then]  # by the record of the leftovers

    @cached_property
    def kitchens(self) -> list[Kitchen]:
        """The kitchens that cook for the site, with what goes through each."""
        servings = [*self.servings, *self.others]
        return kitchens_for(self.site, servings, self.deliveries, self.steps, standing(self.events))

    @cached_property
    def lines(self) -> dict[int, list[Entry]]:
        """What happened and is planned in each kitchen, by its id."""
        return {kitchen.site.pk: line(kitchen, self.at) for kitchen in self.kitchens}

    @cached_property
    def dishes(self) -> dict[int, Serving]:
        """All that goes through the kitchens, one serving for each batch, by id; and every serving of the site."""
        found = {serving.pk: serving for serving in self.servings}
        for entry in self.entries():
            if entry.serving:
                found.setdefault(entry.serving.pk, entry.serving)
        return found

    @cached_property
    def surfaces(self) -> dict[int, Surface]:
        """The equipment that the lines name, by id."""
        return {surface.pk: surface for entry in self.entries() for surface in entry.surfaces}

    def entries(self) -> Iterator[Entry]:
        """Yield what stands on the lines of all kitchens."""
        return (entry for entries in self.lines.values() for entry in entries)

    def records(self, kind: Deed) -> list[tuple[KitchenEvent, Serving]]:
        """Return the records of one kind that stand, each with the dish here that it is about, in the order of time."""
        return [
            (event, dish)
            for kitchen in self.kitchens
            for event in kitchen.events
            if event.kind == kind and event.serving and (dish := self.dish(kitchen, event.serving))
        ]

    def dish(self, kitchen: Kitchen, serving: Serving) -> Serving | None:
        """Return what stands here for a serving that a record of that kitchen names."""
        return self.dishes.get(kitchen.batches.get(batch_key(serving), serving).pk)

    @property
    def inputs(self) -> dict[str, Any]:
        """Ids of what was read beside the food of all sites; equipment as described: nobody keeps its versions."""
        return {
            "servings": sorted(serving.pk for serving in [*self.servings, *self.others]),
            "steps": sorted(step.pk for step in self.steps),
            "deliveries": sorted(delivery.pk for delivery in self.deliveries),
            "events": sorted(event.pk for event in self.events),
            "surfaces": sorted(_described(surface) for surface in self.surfaces.values()),
            "airborne": sorted(kitchen.site.pk for kitchen in self.kitchens if kitchen.site.airborne),
            "not_done": sorted(
                [entry.step.pk, entry.day.isoformat()]
                for entry in self.entries()
                if entry.state is State.NOT_DONE and entry.step
            ),
            "left_over": {str(event): _then(then) for event, then in sorted(self.then.items())},
        }


def _labels(products: list[Product], used: set[int]) -> list[int]:
    return sorted(label.pk for product in products if product.pk in used for label in product.current_labels)


def _described(surface: Surface) -> list[Any]:
    return [surface.pk, surface.name, surface.kind, surface.material, surface.dedicated_for]


def _then(then: Then) -> dict[str, list[int]]:
    return {
        "recipes": sorted(facts.version for facts in then.recipes.values()),
        "labels": _labels(then.products, {product for facts in then.recipes.values() for product in facts.products}),
    }
