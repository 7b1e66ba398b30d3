"""Labels that somebody must read: missing, out of date or not understood."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from compliance.checks.food import is_stale, reading, recipe_facts
from compliance.checks.schedule import last_looked_at
from menus.kitchen.recipes import reached
from menus.labels.lexicon import Lexicon
from menus.lexicon import lexicon_at
from menus.models import Product, Serving, Site

PROBLEMS = ("missing", "unread", "stale")


@dataclass(frozen=True, slots=True)
class LabelWork:
    """A product whose label somebody must read, and what waits for it."""

    product: Product
    problem: str  # one of PROBLEMS
    words: tuple[str, ...]
    servings: int  # on the plan of the site in the coming days
    recipes: int  # on record


def label_work(site: Site) -> list[LabelWork]:
    """Return the products of recipes whose labels are wanted; what most servings of the site wait for comes first.

    Six queries, whatever the size.
    """
    now = timezone.now()
    today = now.astimezone(site.zone).date()
    lexicon = lexicon_at(now)
    recipes = recipe_facts(now)
    held = {recipe: reached(recipes, [recipe])[1] for recipe in recipes}
    planned = _planned(site, today)
    used = set().union(*held.values()) if held else set()
    work = [
        LabelWork(
            product,
            problem,
            words,
            servings=sum(times for recipe, times in planned.items() if product.pk in held.get(recipe, ())),
            recipes=sum(product.pk in products for products in held.values()),
        )
        for product in Product.objects.for_kitchen().filter(pk__in=used).with_label(now).select_related("supplier")
        for problem, words in _problems(product, today, site, lexicon)
    ]
    return sorted(work, key=_order)


def _order(work: LabelWork) -> tuple[int, int, int, str]:
    return (-work.servings, -work.recipes, PROBLEMS.index(work.problem), work.product.name)


def _planned(site: Site, today: date) -> dict[int, int]:
    """Return how often each recipe is on the plan in the coming days."""
    last = last_looked_at(today)
    times: dict[int, int] = {}
    for recipe in Serving.objects.planned().filter(site=site).between(today, last).values_list("recipe", flat=True):
        times[recipe] = times.get(recipe, 0) + 1
    return times


def _problems(product: Product, today: date, site: Site, lexicon: Lexicon) -> Iterator[tuple[str, tuple[str, ...]]]:
    if not product.current_labels or not product.current_labels[0].is_read:
        yield "missing", ()
        return
    label = product.current_labels[0]
    if unread := reading(label, lexicon=lexicon, site=site).unread:
        yield "unread", tuple(span.words for span in unread)
    if is_stale(label, today):
        yield "stale", ()
