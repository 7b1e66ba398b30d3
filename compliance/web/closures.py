"""The calendar of a site, for its administrator: holidays and half days, on which meals are not served."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods, require_POST

from compliance.web.closures_form import ClosureForm, parts_of
from compliance.web.gates import permit_of
from compliance.web.place import Place, place_of, sites_for
from compliance.web.signed_in import SignedInRequest
from compliance.web.stale import Side, Stale, side
from menus.models import Closure, CycleMenu
from menus.services.calendar import Recorded, StaleClosure, lift_closure, record_closure
from roster.permits import holds

MOST_PAST = 30


@require_http_methods(["GET", "POST"])
def closures(request: SignedInRequest) -> HttpResponse:
    """List the days without meals from today on, and take another entry."""
    place = place_of(request)
    form = _form(request, place)
    if request.method == "POST" and form.is_valid():
        try:
            recorded = record_closure(**form.said(), recorded_by=request.user)
        except ValidationError as error:
            form.take(error)
        else:
            return _done(request, place, recorded)
    stand = Closure.objects.newest().at(place.site).select_related("site", "recorded_by")
    context = _context(request, place, form) | {
        "ahead": stand.filter(last_day__gte=place.today),
        "past": stand.filter(last_day__lt=place.today).order_by("-first_day")[:MOST_PAST],
        "waiting": CycleMenu.objects.filter(site=place.site, pauses=True),
    }
    return render(request, "closures/closures.html", context)


@require_http_methods(["GET", "POST"])
def closure(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one entry and take a newer version of it; one that somebody recorded meanwhile is shown first."""
    place, entry = _entry(request, pk)
    stale: Stale | None = None
    form = _form(request, place, entry)
    if request.method == "POST" and form.is_valid():
        try:
            recorded = record_closure(**form.said(), recorded_by=request.user, replaces=entry)
        except StaleClosure as error:
            entry, stale = error.newer, _two_versions(error, side("What you typed", form.parts()))
        except ValidationError as error:
            form.take(error)
        else:
            return _done(request, place, recorded)
    context = _context(request, place, form) | {"closure": entry, "stale": stale}
    return render(request, "closures/closure.html", context)


@require_POST
def lift(request: SignedInRequest, pk: int) -> HttpResponse:
    """Have meals served after all on the days of an entry."""
    place, entry = _entry(request, pk)
    try:
        recorded = lift_closure(entry, recorded_by=request.user)
    except StaleClosure as error:
        stale = _two_versions(error, Side("What you asked for", (("Meals", "served after all"),)))
        form = ClosureForm(None, site=place.site, everywhere=_is_everywhere(request), closure=error.newer)
        context = _context(request, place, form) | {"closure": error.newer, "stale": stale}
        return render(request, "closures/closure.html", context)
    return _done(request, place, recorded)


def _form(request: SignedInRequest, place: Place, entry: Closure | None = None) -> ClosureForm:
    data = request.POST if request.method == "POST" else None
    return ClosureForm(data, site=place.site, everywhere=_is_everywhere(request), closure=entry)


def _context(request: SignedInRequest, place: Place, form: ClosureForm) -> dict[str, Any]:
    return {"place": place, "site": place.site, "form": form, "everywhere": _is_everywhere(request)}


def _is_everywhere(request: SignedInRequest) -> bool:
    """Whether the person administers all sites, and so may close all of them at once."""
    permit = permit_of(request)
    assert permit is not None
    return any(post.is_everywhere and holds(post, permit) for post in request.posts)


def _entry(request: SignedInRequest, pk: int) -> tuple[Place, Closure]:
    """The entry and where it is looked at; one of all sites is only for who administers them all."""
    sites = sites_for(request)
    theirs = Q(site__in=[site.pk for site in sites])
    if _is_everywhere(request):
        theirs |= Q(site=None)
    entry = get_object_or_404(Closure.objects.filter(theirs).select_related("site"), pk=pk)
    return Place(entry.site, sites) if entry.site else place_of(request), entry


def _two_versions(error: StaleClosure, yours: Side) -> Stale:
    return Stale(error.messages[0], side("On record now", parts_of(error.newer)), yours)


def _done(request: SignedInRequest, place: Place, recorded: Recorded) -> HttpResponse:
    what = recorded.closure.words.capitalize()
    saved = f"Saved: meals are served after all ({recorded.closure.reason})." if recorded.closure.withdrawn else what
    dishes = f"{recorded.dishes} dishes were put on the plan or taken off it." if recorded.dishes else ""
    messages.success(request, f"{saved.rstrip('.')}. {dishes}".strip())
    return redirect(f"{reverse('closures')}?site={place.site.code}")


urls = [
    path("site/calendar/", closures, name="closures"),
    path("site/calendar/<int:pk>/", closure, name="closure"),
    path("site/calendar/<int:pk>/lift/", lift, name="closure-lift"),
]
