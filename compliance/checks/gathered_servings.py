"""The dishes around an incident: by which recipe and labels, and what the check had said of each for the child."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from compliance.checks.exceptions import ExceptionFilter, ExceptionRow, find_exceptions
from compliance.checks.food import recipe_facts
from compliance.checks.served import served
from compliance.models import Run
from menus.kitchen.recipes import RecipeFacts, reached
from menus.models import Deed, KitchenEvent, Label, Serving, Site
from roster.models import Child

Plain = dict[str, Any]


def servings(
    child: Child, site: Site, first: date, last: date, events: list[KitchenEvent], at: datetime
) -> list[Plain]:
    """Return every dish that was planned at the site between two days, both included.

    Recipes and labels are those on record at that moment; `events` tell what was swapped. The number of queries does
    not grow with the menu.
    """
    dishes = Serving.objects.between(first, last).filter(site=site).select_related("recipe")
    planned = list(dishes.order_by("date", "meal", "pk"))
    recipes, runs = recipe_facts(at), _runs(planned)
    found: dict[int, list[ExceptionRow]] = {}
    for row in find_exceptions(None, ExceptionFilter(first, last, site=site, child=child)):
        found.setdefault(row.serving.pk, []).append(row)
    held = {each.pk: _products(each, recipes, events) for each in planned}
    labels = _labels(set().union(*held.values()), at)
    return [
        {
            "id": each.pk,
            "date": each.date.isoformat(),
            "meal": each.get_meal_display(),
            "dish": each.recipe.name,
            "withdrawn": each.withdrawn_at.isoformat() if each.withdrawn_at else None,
            "recipe_version": recipes[each.recipe_id].version if each.recipe_id in recipes else None,
            "labels": [labels[product] for product in sorted(held[each.pk]) if product in labels],
            "unlabelled": len([product for product in held[each.pk] if product not in labels]),
            "run": runs[each.pk].pk if each.pk in runs else None,
            "outcome": _outcome(found.get(each.pk, []), is_checked=each.pk in runs),
            "reasons": [_reason(row) for row in found.get(each.pk, [])],
        }
        for each in planned
    ]


def _products(serving: Serving, recipes: dict[int, RecipeFacts], events: list[KitchenEvent]) -> set[int]:
    """The products in the dish by its recipe, at any depth, and those that the kitchen says it put in their place."""
    _, products = reached(recipes, [serving.recipe_id])
    swapped = [each for each in events if each.kind == Deed.SWAP and each.serving_id == serving.pk]
    return products | {each.product_in_id for each in swapped if each.product_in_id}


def _labels(products: set[int], at: datetime) -> dict[int, Plain]:
    rows = Label.objects.current(at).filter(product__in=products).select_related("product")
    return {
        row.product_id: {
            "id": row.pk,
            "product": row.product.name,
            "version": row.number,
            "seen_on": row.seen_on.isoformat(),
        }
        for row in rows
    }


def _outcome(rows: list[ExceptionRow], *, is_checked: bool) -> str:
    if rows:
        return max(row.outcome for row in rows).words
    return "none found in the records checked" if is_checked else "not checked"


def _reason(row: ExceptionRow) -> Plain:
    return {
        "restriction": row.restriction.pk,
        "substance": row.substance_name,
        "outcome": row.outcome.words,
        "why": [reason.sentence for reason in row.reasons],
    }


def _runs(dishes: Iterable[Serving]) -> dict[int, Run]:
    """The run whose word stands for each serving, by the serving's id."""
    rows = Serving.objects.filter(pk__in=[each.pk for each in dishes])
    return {each.serving.pk: each.run for each in served(rows)}
