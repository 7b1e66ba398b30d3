"""Read the facts of a check: as they stood at one moment, or exactly those that a run named."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar

from django.db.models import Model, Q, QuerySet

from compliance.checks.facts import Facts, Then
from compliance.checks.food import recipe_facts
from compliance.checks.kitchens import brought
from compliance.models import FoodRead
from menus.kitchen.recipes import reached
from menus.models import (
    Deed,
    Delivery,
    KitchenEvent,
    Label,
    PlanStep,
    Product,
    Serving,
    Site,
    Surface,
    WordReview,
)

Row = TypeVar("Row", bound=Model)

LOOK_BACK = timedelta(days=14)
"""How far back equipment is followed that no daily wash makes clean, such as the oil of a fryer."""


def load(site: Site, first: date, last: date, at: datetime) -> Facts:
    """Read the facts as they stood at that moment, with the days before that may have left something on equipment.

    Nine queries, whatever the size, and five more for each record of leftovers.
    """
    begin = first - LOOK_BACK
    deliveries = list(_deliveries(site))
    kitchens = {site.pk} | {each.kitchen_id for each in deliveries if each.site_id == site.pk}
    since = datetime.combine(begin, time.min, site.zone)
    servings = list(_servings(kitchens | {each.site_id for each in deliveries}, begin, last))
    events = list(related(KitchenEvent.objects.known(at, since).filter(site__in=kitchens)))
    steps = PlanStep.objects.filter(Q(withdrawn_at=None) | Q(withdrawn_at__gt=since), site__in=kitchens)
    return Facts(
        site=site,
        at=at,
        servings=[serving for serving in servings if serving.site_id == site.pk],
        others=[
            serving for serving in servings if serving.site_id != site.pk and _is_cooked(serving, kitchens, deliveries)
        ],
        recipes=recipe_facts(at),
        products=list(Product.objects.with_label(at)),
        words=list(WordReview.objects.standing(at)),
        steps=list(steps.select_related("surface", "other_surface").order_by("pk")),
        deliveries=deliveries,
        events=events,
        then={event.pk: _then(event, at) for event in events if event.kind == Deed.LEFTOVER},
    )


def _deliveries(site: Site) -> QuerySet[Delivery]:
    """Those to the site, and all those of the kitchens that cook for it."""
    cooking = Delivery.objects.standing().filter(site=site).values("kitchen")
    wanted = Q(site=site) | Q(kitchen=site) | Q(kitchen__in=cooking)
    return Delivery.objects.standing().filter(wanted).select_related("kitchen").order_by("pk")


def _servings(sites: Iterable[int], first: date, last: date) -> QuerySet[Serving]:
    wanted = Serving.objects.planned().filter(site__in=sites).between(first, last)
    return wanted.select_related("recipe", "site").order_by("pk")


def _is_cooked(serving: Serving, kitchens: Iterable[int], deliveries: Iterable[Delivery]) -> bool:
    return serving.site_id in kitchens or any(brought(serving, kitchen, deliveries) for kitchen in kitchens)


def related(events: QuerySet[KitchenEvent]) -> QuerySet[KitchenEvent]:
    """Return these records with all that they name, in the order of time."""
    named = ("surface", "other_surface", "serving__recipe", "batch__recipe", "step", "product_out", "product_in")
    return events.select_related(*named, "site", "recorded_by").order_by("happened_at", "pk")


def _then(event: KitchenEvent, at: datetime) -> Then:
    """Read the recipes and labels of the evening on which the batch was made."""
    batch = event.batch
    assert batch is not None  # the database holds no record of leftovers without one
    evening = datetime.combine(batch.date + timedelta(days=1), time.min, event.site.zone)
    recipes = recipe_facts(min(at, evening))
    held, used = reached(recipes, [batch.recipe_id])
    products = Product.objects.filter(pk__in=used).with_label(min(at, evening))
    return Then({recipe: recipes[recipe] for recipe in held}, list(products))


def reload(site: Site, food: FoodRead, inputs: dict[str, Any], at: datetime) -> Facts:
    """Read again exactly the versions that a run named: of the food, and `inputs` of all else."""
    servings = list(Serving.objects.filter(pk__in=inputs["servings"]).select_related("recipe", "site").order_by("pk"))
    steps = list(_by_id(PlanStep, inputs["steps"]).select_related("surface", "other_surface"))
    deliveries = list(_by_id(Delivery, inputs["deliveries"]).select_related("kitchen"))
    events = list(related(KitchenEvent.objects.filter(pk__in=inputs["events"])))
    _describe([*steps, *events], inputs["surfaces"])
    _set_airborne([site, *(each.kitchen for each in deliveries)], inputs["airborne"])
    return Facts(
        site=site,
        at=at,
        servings=[serving for serving in servings if serving.site_id == site.pk],
        others=[serving for serving in servings if serving.site_id != site.pk],
        recipes=recipe_facts(at, food.recipes),
        products=_labelled(food.labels),
        words=list(_by_id(WordReview, food.words).select_related("word")),
        steps=steps,
        deliveries=deliveries,
        events=events,
        then={
            int(event): Then(recipe_facts(at, read["recipes"]), _labelled(read["labels"]))
            for event, read in inputs["left_over"].items()
        },
    )


def _by_id(model: type[Row], ids: list[int]) -> QuerySet[Row]:
    return model._default_manager.filter(pk__in=ids).order_by("pk")


def _labelled(ids: list[int]) -> list[Product]:
    labels = {label.product_id: label for label in Label.objects.filter(pk__in=ids)}
    products = list(Product.objects.all())
    for product in products:
        product.current_labels = [labels[product.pk]] if product.pk in labels else []
        for label in product.current_labels:
            label.product = product
    return products


def _describe(named: Iterable[PlanStep | KitchenEvent], described: list[list[Any]]) -> None:
    """Give back to the equipment the description that the run read."""
    then = {
        pk: Surface(pk=pk, name=name, kind=kind, material=material, dedicated_for=dedicated)
        for pk, name, kind, material, dedicated in described
    }
    for each in named:
        if each.surface_id in then:
            each.surface = then[each.surface_id]
        if each.other_surface_id in then:
            each.other_surface = then[each.other_surface_id]


def _set_airborne(kitchens: Iterable[Site], airborne: list[int]) -> None:
    for kitchen in kitchens:
        kitchen.airborne = kitchen.pk in airborne
