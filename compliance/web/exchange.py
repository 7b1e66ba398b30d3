"""A dish that was tried out, taken over into the plan: whom it concerns, asked first, then done."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from compliance.checks.age import AgeNotice, births_at, serving_notices
from compliance.checks.exchange import exchange, with_recipe
from compliance.checks.ordereffect import Met, Turn
from compliance.web.meals_form import Asked, Trial, asked
from compliance.web.orderwork_said import Concerned, concerned
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from menus.models import Serving
from menus.services.exchange import exchange_dish, refuse_exchange
from roster.access import visible_classrooms
from roster.models import Verb
from roster.record.write import record


@require_http_methods(["GET", "HEAD", "POST"])
def meal_exchange(request: SignedInRequest) -> HttpResponse:
    """Show whom the dish in `take` would concern, as it was tried out, and on a post put it on the plan."""
    place = place_of(request)
    wanted = asked(request.GET, site=place.site, today=place.today, meals=[])
    trial = next((each for each in wanted.trials if str(each.serving) == request.GET.get("take")), None)
    serving = _serving(place, trial)
    if trial is None or serving is None:
        raise Http404("This dish is on no plan of this site, or nothing is tried out in its place.")
    try:
        if request.method == "POST" and request.POST.get("looked"):
            return _take_over(request, place, wanted, trial, serving)
        refuse_exchange(serving=serving, recipe=trial.recipe, today=place.today)
    except ValidationError as error:
        return render(request, "exchange/refused.html", _refused(place, wanted, trial, serving, error))
    return render(request, "exchange/exchange.html", _asks(request, place, wanted, trial, serving))


def take_over_address(wanted: Asked, serving: int) -> str:
    """Return where one is asked about taking over what is tried out for the serving; other trials go along."""
    return f"{reverse('meal-exchange')}?{wanted.address()}&take={serving}"


def _serving(place: Place, trial: Trial | None) -> Serving | None:
    rows = Serving.objects.filter(site=place.site).select_related("recipe", "site")
    return rows.filter(pk=trial.serving).first() if trial else None


def _take_over(request: SignedInRequest, place: Place, wanted: Asked, trial: Trial, serving: Serving) -> HttpResponse:
    with transaction.atomic():
        new = exchange_dish(serving=serving, recipe=trial.recipe, today=place.today)
        record(Verb.RECORDED, new, site=place.site, in_place_of=serving.pk, day=new.date, meal=new.meal)
    messages.success(
        request,
        f"{trial.recipe} is on the plan in place of {serving.recipe}, {new.date:%A}. The menus that it bears on are "
        "checked again now.",
    )
    return redirect(_meals(wanted, without=serving.pk))


def _asks(request: SignedInRequest, place: Place, wanted: Asked, trial: Trial, serving: Serving) -> dict[str, Any]:
    now = timezone.now()
    found = exchange(serving, trial.recipe, place.today, now)
    return {
        **_about(place, wanted, trial, serving),
        "as_of": now,
        "now": len({met.child.pk for met in found.now}),
        "count": len({met.child.pk for met in found.then}),
        "then": _named(request, found.then),
        "reasons": _reasons(found.then),
        "new": _named(request, found.beside.new),
        "gone": _named(request, found.beside.gone),
        "by_age": _shapes(serving, trial),
        "unlooked": request.method == "POST",
    }


def _refused(place: Place, wanted: Asked, trial: Trial, serving: Serving, error: ValidationError) -> dict[str, Any]:
    """Why nothing was changed; where somebody was quicker, what stands on the meal now."""
    there = Serving.objects.planned().filter(site=place.site, date=serving.date, meal=serving.meal)
    return {
        **_about(place, wanted, trial, serving),
        "why": error.messages,
        "there": list(there.select_related("recipe").order_by("pk")),
    }


def _about(place: Place, wanted: Asked, trial: Trial, serving: Serving) -> dict[str, Any]:
    return {
        "place": place,
        "site": place.site,
        "serving": serving,
        "recipe": trial.recipe,
        "is_today": serving.date == place.today,
        "here": wanted.address(),
        "back": _meals(wanted),
        "without": _meals(wanted, without=serving.pk),
    }


def _meals(wanted: Asked, without: int | None = None) -> str:
    return f"{reverse('meals')}?{wanted.address(without=without)}"


def _named(request: SignedInRequest, mets: Iterable[Met | Turn]) -> list[Concerned]:
    """Dish by dish: children by name where the person may see them, and counted where not."""
    return concerned(list(mets), set(visible_classrooms(request.user).values_list("pk", flat=True)))


def _reasons(mets: Iterable[Met]) -> list[str]:
    """What stands against the dish, each sentence once."""
    return list(dict.fromkeys(each.sentence for met in mets for each in met.reasons if not each.allowed))


def _shapes(serving: Serving, trial: Trial) -> list[AgeNotice]:
    """What the shapes of the dish ask for at the ages of that day."""
    other = with_recipe(serving, trial.recipe)
    births = births_at(serving.site, serving.date)
    return serving_notices([other], births, serving.date, serving.site)[serving.pk]


urls = [path("meals/exchange/", meal_exchange, name="meal-exchange")]
