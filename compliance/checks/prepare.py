"""Work out the dishes as prepared of one site, from the facts of a check."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from compliance.checks.engineline import engine_events, surface_facts
from compliance.checks.facts import Facts
from compliance.checks.food import product_evidence
from compliance.checks.madeof import Swap, left_over, made_of
from menus.kitchen.carryover import carry_over, traced
from menus.kitchen.events import Event
from menus.kitchen.recipes import Pieces, fold, reached
from menus.kitchen.surfaces import SurfaceFacts
from menus.kitchen.trace import Trace
from menus.labels.evidence import ANY, Evidence, Kind
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_with
from menus.models import Deed, KitchenEvent, Serving


@dataclass(frozen=True, slots=True)
class Work:
    """What a check hands to the engine: dishes as they are made, what happens, and on what equipment."""

    dishes: dict[int, Pieces]
    names: dict[int, str]
    events: list[Event]
    surfaces: dict[int, SurfaceFacts]

    def carried(self) -> dict[int, Pieces]:
        """Return every dish with what the order of work carries over to it."""
        return carry_over(self.events, self.surfaces, self.dishes, self.names)

    def trace(self) -> Trace[Evidence]:
        """Return the ways on which it came."""
        return traced(self.events, self.surfaces, self.dishes)


def prepared(facts: Facts, today: date) -> dict[Serving, Pieces]:
    """Return every serving's dish as prepared: what is in it, what was swapped or left over, what was carried over.

    Labels are judged by their age on `today`, the site's day on which the check is made.
    """
    carried = work(facts, today).carried()
    return {serving: carried[serving.pk] for serving in facts.servings}


def work(facts: Facts, today: date) -> Work:
    """Return the work of all kitchens that cook for the site, from the days looked back at to the last."""
    line = [event for kitchen in facts.kitchens for event in engine_events(kitchen, facts.lines[kitchen.site.pk])]
    surfaces = {pk: surface_facts(surface) for pk, surface in facts.surfaces.items()}
    names = {pk: dish.recipe.name for pk, dish in facts.dishes.items()}
    found = Work(as_made(facts, today), names, line, surfaces)
    for event, dish in facts.records(Deed.LEFTOVER):
        # The batch brings along what it had picked up itself. Records come in the order of time, so a batch that holds
        # leftovers of a third one has them by now.
        batch = facts.dishes.get(event.batch_id or 0)
        if batch:
            picked_up = found.carried()[batch.pk]
            found.dishes[dish.pk] = _together(
                found.dishes[dish.pk], left_over(picked_up, batch.pk, batch.recipe.name, batch.date)
            )
    return found


def as_made(facts: Facts, today: date) -> dict[int, Pieces]:
    """Return what is in each dish before it meets any equipment, by serving: swaps and leftovers included."""
    lexicon = lexicon_with(facts.words)
    # Only what is cooked here: a recipe that cannot be worked out is no concern of a site that does not serve it.
    held, used = reached(facts.recipes, {dish.recipe_id for dish in facts.dishes.values()})
    used.update(event.product_in_id for event, _ in facts.records(Deed.SWAP) if event.product_in_id)
    products = {
        product.pk: product_evidence(product, on=today, lexicon=lexicon, site=facts.site)
        for product in facts.products
        if product.pk in used
    }
    folded = fold({recipe: facts.recipes[recipe] for recipe in held}, products)
    dishes = {pk: folded.get(dish.recipe_id, unknown(dish.recipe.name)) for pk, dish in facts.dishes.items()}
    for pk, swaps in _swaps(facts).items():
        dish = facts.dishes[pk]
        made = made_of(dish.recipe_id, facts.recipes, products, swaps)
        dishes[pk] = unknown(dish.recipe.name) if made is None else made
    for event, dish in facts.records(Deed.LEFTOVER):
        dishes[dish.pk] = _together(dishes[dish.pk], _batch_as_it_was(facts, event, lexicon))
    return dishes


def _swaps(facts: Facts) -> Mapping[int, list[Swap]]:
    swaps: dict[int, list[Swap]] = {}
    for event, dish in facts.records(Deed.SWAP):
        assert event.product_out_id and event.product_in_id  # the database holds no swap without them
        swaps.setdefault(dish.pk, []).append(Swap(event.product_out_id, event.product_in_id, event.whole))
    return swaps


def _batch_as_it_was(facts: Facts, event: KitchenEvent, lexicon: Lexicon) -> Pieces:
    """What was in the batch by the recipe and the labels of its own day."""
    batch, then = event.batch, facts.then[event.pk]
    assert batch is not None  # the database holds no record of leftovers without one
    products = {
        product.pk: product_evidence(product, on=batch.date, lexicon=lexicon, site=facts.site)
        for product in then.products
    }
    pieces = fold(then.recipes, products).get(batch.recipe_id, unknown(batch.recipe.name))
    return left_over(pieces, batch.pk, batch.recipe.name, batch.date)


def _together(one: Pieces, other: Pieces) -> Pieces:
    return tuple(dict.fromkeys([*one, *other]))


def unknown(name: str) -> Pieces:
    """Return what is known of a dish of which nobody recorded what goes into it."""
    return (Evidence(ANY, Kind.UNIDENTIFIED, term=f"{name}: a recipe without lines"),)
