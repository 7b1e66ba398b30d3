"""Dishes on hand: what a kitchen can prepare beside its menu where a child may not have what is planned."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from compliance.web.onhand_form import EndForm, OnHandForm
from compliance.web.place import Place, place_of, sites_for
from compliance.web.signed_in import SignedInRequest
from menus.models import Alternative
from menus.services.alternatives import add_alternative, end_alternative
from roster.access import may
from roster.permits import Act, Thing


@require_http_methods(["GET", "POST"])
def on_hand(request: SignedInRequest) -> HttpResponse:
    """List what is on hand from today on, and take another dish."""
    place = place_of(request)
    data = request.POST if request.method == "POST" else None
    licensed = may(request.user, Thing.MEDICAL, Act.SIGN, site=place.site)
    form = OnHandForm(data, site=place.site, today=place.today, is_licensed=licensed)
    if request.method == "POST" and form.is_valid():
        try:
            kept = add_alternative(site=place.site, **form.cleaned_data)
        except ValidationError as error:
            _take(form, error)
        else:
            messages.success(request, f"{kept.recipe} is on hand. Work the meals out again for it to count.")
            return redirect(_address(place))
    known = Alternative.objects.filter(site=place.site).select_related("recipe")
    context = {
        "place": place,
        "site": place.site,
        "as_of": timezone.now(),
        "form": form,
        "today": place.today,
        "standing": known.filter(Q(ends_on=None) | Q(ends_on__gte=place.today)),
        "ended": known.filter(ends_on__lt=place.today).order_by("-ends_on")[:20],
    }
    return render(request, "onhand/onhand.html", context)


@require_POST
def end(request: SignedInRequest, pk: int) -> HttpResponse:
    """Keep the last day of a dish on hand."""
    entry = get_object_or_404(Alternative.objects.select_related("site", "recipe"), pk=pk, site__in=sites_for(request))
    form = EndForm(request.POST, label_suffix="")
    if not form.is_valid():
        messages.error(request, "Nothing was changed: that is no day. Give it as year, month, day: 2026-11-30.")
        return redirect(f"{reverse('on-hand')}?site={entry.site.code}")
    try:
        kept = end_alternative(alternative=entry, last_day=form.cleaned_data["last_day"])
    except ValidationError as error:
        messages.error(request, "Nothing was changed. " + " ".join(error.messages))
    else:
        messages.success(request, f"{kept.recipe} is on hand until {kept.ends_on:%d %B %Y}.")
    return redirect(f"{reverse('on-hand')}?site={entry.site.code}")


def _take(form: OnHandForm, error: ValidationError) -> None:
    """Put what the service refused beside the field that it is about."""
    for name, several in (error.message_dict if hasattr(error, "error_dict") else {}).items():
        form.add_error(name if name in form.fields else None, ValidationError(several))
    if not hasattr(error, "error_dict"):
        form.add_error(None, ValidationError(error.messages))


def _address(place: Place) -> str:
    return f"{reverse('on-hand')}?site={place.site.code}"


urls = [
    path("kitchen/on-hand/", on_hand, name="on-hand"),
    path("kitchen/on-hand/<int:pk>/end/", end, name="on-hand-end"),
]
