"""How much a serving would bring by a supplier's figure: information for licensed staff, never an outcome."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.web.amount_form import AmountForm
from compliance.web.place import place_of
from compliance.web.signed_in import SignedInRequest


@require_safe
def amount(request: SignedInRequest) -> HttpResponse:
    """Work out an amount from what was typed, with its formula. Nothing is kept, and no outcome changes by it."""
    place = place_of(request)
    form = AmountForm(request.GET if "ppm" in request.GET else None)
    found = form.estimate() if form.is_bound and form.is_valid() else None
    return render(
        request,
        "amount/amount.html",
        {"place": place, "site": place.site, "form": form, "found": found, "as_of": timezone.now()},
    )


urls = [path("amount/", amount, name="amount")]
