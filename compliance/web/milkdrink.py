"""A drink in place of milk, nutrient by nutrient, and who may ask for it: information for licensed staff."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.web.milkdrink_form import MilkDrinkForm
from compliance.web.place import place_of
from compliance.web.signed_in import SignedInRequest
from menus.mealpattern.milk_substitute import Comparison
from menus.mealpattern.patterns.sentences import shown


@require_safe
def milk_drink(request: SignedInRequest) -> HttpResponse:
    """Hold what was typed against the table of the regulation. Nothing is kept, and no outcome changes by it."""
    place = place_of(request)
    form = MilkDrinkForm(request.GET, today=place.today)
    context = {"place": place, "site": place.site, "form": form, "as_of": timezone.now()}
    if "program" in request.GET and form.is_valid():
        compared = form.comparison()
        context |= {
            "looked": True,
            "compared": None if form.cleaned_data["lactose_free"] else compared,
            "said": _said(compared),
            "sources": dict.fromkeys((line.source, line.verified) for line in compared.lines),
            "asked": form.request(compared),
        }
    return render(request, "milkdrink/milkdrink.html", context)


def _said(compared: Comparison) -> str:
    """Return what the comparison comes to, words first."""
    short = ", ".join(
        f"{line.what} by {shown(line.missing)} {line.unit}" for line in compared.short if line.missing is not None
    )
    silent = ", ".join(line.what for line in compared.not_stated)
    if short:
        also = f" Not stated on the label: {silent}." if silent else ""
        return f"Per cup it falls short in {short}.{also}"
    if silent:
        return (
            f"The label does not state {silent}, so nobody can tell whether it is equivalent. Ask the maker for these "
            "figures in writing."
        )
    return "It reaches every figure of the table, per cup."


urls = [path("meals/milk/", milk_drink, name="milk-drink")]
