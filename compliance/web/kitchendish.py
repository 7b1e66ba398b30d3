"""What became of one dish in the kitchen: another product than the recipe says, or leftovers of an earlier day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_http_methods
from rapidfuzz import fuzz, process, utils

from compliance.checks.food import recipe_facts
from compliance.web.kitchenday import back_to_day, keep, kitchen_of
from compliance.web.kitchendish_form import LeftoverForm, SwapForm
from compliance.web.place import Place
from compliance.web.signed_in import SignedInRequest
from menus.kitchen.recipes import reached
from menus.models import Deed, KitchenEvent, Product, Serving, Site
from menus.models.cycle import MEAL_ORDER
from menus.services.kitchen import FOLLOWED, cooked_at

SUGGESTED, LIKE = 3, 55
"""How many products are offered in place of another, and how like their names must be, of 100."""


@dataclass(frozen=True, slots=True)
class Held:
    """A product that the dish holds, and those that a kitchen would likely use in its place."""

    product: Product
    likely: list[Product]


@require_http_methods(["GET", "POST"])
def dish(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show what the dish is made of, and record what was used instead."""
    place = kitchen_of(request)
    serving = get_object_or_404(Serving.objects.select_related("recipe", "site"), pk=pk)
    if not cooked_at(serving, place.site):
        raise Http404("This dish is not cooked in this kitchen.")
    held = _held(serving)
    said = request.POST if request.method == "POST" else None
    swap = SwapForm(place.site, serving, held, said if said and "product_out" in said else None)
    leftover = LeftoverForm(
        place.site, serving, earlier(serving, place.site), said if said and "batch" in said else None
    )
    for form in (swap, leftover):
        if form.is_bound and form.is_valid() and (kept := _keep(request, place, form)):
            _say_kept(request, kept)
            return back_to_day(place.site, serving.date)
    return render(request, "kitchenday/dish.html", _page(place, serving, held, swap, leftover))


def _page(
    place: Place, serving: Serving, held: list[Product], swap: SwapForm, leftover: LeftoverForm
) -> dict[str, Any]:
    others = list(Product.objects.for_kitchen().used_at([place.site]).exclude(pk__in=[each.pk for each in held]))
    return {
        "place": place,
        "site": place.site,
        "serving": serving,
        "held": [Held(product, likely(product, others)) for product in held],
        "swap": swap,
        "leftover": leftover,
        "form": swap if swap.is_bound else leftover,
        "token": uuid4,
    }


def _held(serving: Serving) -> list[Product]:
    """The products of the dish by its recipe of today, at any depth."""
    _, used = reached(recipe_facts(timezone.now()), [serving.recipe_id])
    return list(Product.objects.filter(pk__in=used))


def likely(product: Product, others: list[Product]) -> list[Product]:
    """Return the products whose names are most like this one's: what a kitchen reaches for when it is out."""
    found = process.extract(
        product.name,
        [other.name for other in others],
        scorer=fuzz.token_set_ratio,
        processor=utils.default_process,
        limit=SUGGESTED,
        score_cutoff=LIKE,
    )
    return [others[number] for _, _, number in found]


def earlier(serving: Serving, kitchen: Site) -> list[Serving]:
    """Return the batches that may be left over, those of the same dish first, then the latest first."""
    here = Serving.objects.planned().filter(site__in={kitchen, serving.site})
    found = here.between(serving.date - FOLLOWED, serving.date).select_related("recipe", "site")
    before = [each for each in found if _when(each) < _when(serving)]
    return sorted(before, key=lambda each: (each.recipe_id != serving.recipe_id, -each.date.toordinal(), each.pk))


def _when(serving: Serving) -> tuple[date, int]:
    return serving.date, MEAL_ORDER[serving.meal]


def _keep(request: SignedInRequest, place: Place, form: SwapForm | LeftoverForm) -> KitchenEvent | None:
    try:
        return keep(request, place, form)
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None


def _say_kept(request: SignedInRequest, kept: KitchenEvent) -> None:
    said = "Recorded: {}. The children whom it may concern are checked again now."
    if kept.kind == Deed.SWAP and kept.product_in:
        messages.success(request, format_html(said, f"{kept.product_in} in place of {kept.product_out}"))
        if not kept.product_in.labels.exists():
            address = reverse("label-new", kwargs={"pk": kept.product_in.pk})
            messages.warning(
                request,
                format_html(
                    "No label of {} is on record, so nothing is known of it and the dish is referred for every child "
                    'with a restriction. <a href="{}">Record its label now</a>',
                    kept.product_in,
                    address,
                ),
            )
        return
    messages.success(request, format_html(said, f"leftovers of {kept.batch}"))


urls = [path("kitchen/dishes/<int:pk>/", dish, name="kitchen-dish")]
