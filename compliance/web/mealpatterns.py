"""Which program and age group the meals of a site follow, for its administrator."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from compliance.web.mealpatterns_form import PatternForm, pattern_words
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from menus.models import Meal, Site, SitePattern
from menus.services.patterns import set_pattern


@dataclass(frozen=True, slots=True)
class Followed:
    """One meal: the pattern that holds today, and those that begin later."""

    meal: Meal
    now: SitePattern | None
    words: str
    later: list[tuple[SitePattern, str]]


@require_http_methods(["GET", "POST"])
def meal_patterns(request: SignedInRequest) -> HttpResponse:
    """List what each meal follows, and take another pattern."""
    place = place_of(request)
    form = PatternForm(request.POST if request.method == "POST" else None, today=place.today)
    if request.method == "POST" and form.is_valid():
        try:
            said = set_pattern(site=place.site, recorded_by=request.user, **form.said())
        except ValidationError as error:
            form.take(error)
        else:
            messages.success(
                request, f"{said.get_meal_display()} follows {pattern_words(said)} from {said.starts_on:%-d %B %Y} on."
            )
            return redirect(f"{reverse('meal-patterns')}?site={place.site.code}")
    context = {"place": place, "site": place.site, "form": form, "followed": _followed(place)}
    return render(request, "mealpatterns/mealpatterns.html", context)


def _followed(place: Place) -> list[Followed]:
    return [_meal(place.site, meal, place.today) for meal in Meal]


def _meal(site: Site, meal: Meal, today: date) -> Followed:
    now = SitePattern.objects.holding(site, meal, today)
    newest: dict[date, SitePattern] = {}  # of two that begin on one day the one recorded last
    for each in SitePattern.objects.filter(site=site, meal=meal, starts_on__gt=today).order_by("starts_on", "pk"):
        newest[each.starts_on] = each
    return Followed(
        meal, now, pattern_words(now) if now else "", [(each, pattern_words(each)) for each in newest.values()]
    )


urls = [path("site/meal-patterns/", meal_patterns, name="meal-patterns")]
