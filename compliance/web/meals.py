"""The meals of a week held against their pattern: bars by day and week, nutrients, and dishes tried out in exchange."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.web.exchange import take_over_address
from compliance.web.gates import GATES
from compliance.web.meals_balance import advice_by_day
from compliance.web.meals_bars import Bar, day_bars, week_bars
from compliance.web.meals_charts import charts
from compliance.web.meals_credits import credit_lines
from compliance.web.meals_form import Asked, Trial, asked, recipes_at
from compliance.web.meals_look import Look, Plate, look
from compliance.web.meals_moved import moved
from compliance.web.meals_said import told
from compliance.web.place import Place, place_of
from compliance.web.sidebyside import side_by_side
from compliance.web.signed_in import SignedInRequest
from menus.mealpattern.balance import Advice
from menus.models import Meal, Serving, Site
from roster.access import visible_sites
from roster.permits import Act, Permit, Thing, holds

WEEK = timedelta(weeks=1)
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Dish:
    """One dish of a day: what it credits, how that was worked out, and what stands in its place on trial."""

    plate: Plate
    credits: list[str]
    trial: Trial | None


@dataclass(frozen=True, slots=True)
class Day:
    """One day with its dishes, its bars and advice on its balance."""

    date: date
    dishes: list[Dish]
    bars: list[Bar]
    advice: list[Advice]


@require_safe
def meals(request: SignedInRequest) -> HttpResponse:
    """Show the week of a meal. Nothing is saved: what is tried out stands in the address alone."""
    place = place_of(request)
    wanted = asked(request.GET, site=place.site, today=place.today, meals=_planned_about(place.site, place.today))
    shown = look(place.site, wanted.monday, wanted.meal, wanted.trials)
    return render(request, "meals/meals.html", {**_page(place, wanted, shown), **_ways(request, place)})


def _page(place: Place, wanted: Asked, shown: Look) -> dict[str, Any]:
    judgement = shown.judgement
    return {
        "place": place,
        "site": place.site,
        "as_of": timezone.now(),
        "asked": wanted,
        "look": shown,
        "meals": list(Meal),
        "last": shown.days[-1] if shown.days else None,
        "earlier": wanted.address(monday=wanted.monday - WEEK),
        "later": wanted.address(monday=wanted.monday + WEEK),
        "days": _days(place.site, wanted, shown),
        "week": week_bars(shown.judged, shown.judged_before),
        "charts": charts(judgement.week, shown.days, shown.judged) if judgement else [],
        "told": told(judgement, shown.days) if judgement else None,
        "moved": moved(shown.judged_before, shown.judged, shown.days),
        "tried": [_tried(trial, wanted) for trial in shown.tried],
        "has_choices": any(plate.choice for plates in shown.plates.values() for plate in plates),
        "passed_over": wanted.passed_over or len(shown.tried) < len(wanted.trials),
        "planned": _planned(place.site, shown),
        "recipes": recipes_at(place.site),
    }


def _tried(trial: Trial, wanted: Asked) -> tuple[Trial, str, str]:
    """What is tried out, and the addresses where it is taken back and taken over."""
    return trial, wanted.address(without=trial.serving), take_over_address(wanted, trial.serving)


def _days(site: Site, wanted: Asked, shown: Look) -> list[Day]:
    """The days with all that is shown of each; advice takes the other meals of the day in."""
    others = set(_planned_between(site, wanted.monday, wanted.monday + WEEK - DAY)) - {wanted.meal}
    by_meal = {meal: look(site, wanted.monday, meal).plates for meal in others} | {wanted.meal: shown.plates}
    advice = advice_by_day(by_meal, wanted.meal)
    trials = {trial.serving: trial for trial in shown.tried}
    scheme = shown.pattern.scheme if shown.pattern else "us"
    return [
        Day(
            date=day,
            dishes=[
                Dish(plate, credit_lines(plate.food.credits, scheme), trials.get(plate.serving_id))
                for plate in side_by_side(shown.plates[day], lambda plate: plate.choice)
            ],
            bars=day_bars(shown.judged, number, shown.judged_before),
            advice=advice[day],
        )
        for number, day in enumerate(shown.days, start=1)
    ]


def _planned(site: Site, shown: Look) -> list[tuple[date, list[Serving]]]:
    """The servings that something may be tried out for, as they are planned, by day."""
    pks = [plate.serving_id for plates in shown.plates.values() for plate in plates]
    rows = Serving.objects.filter(pk__in=pks, site=site).select_related("recipe").order_by("date", "pk")
    by_day: dict[date, list[Serving]] = {}
    for row in rows:
        by_day.setdefault(row.date, []).append(row)
    return list(by_day.items())


def _planned_about(site: Site, today: date) -> list[Meal]:
    """The meals planned in the weeks about today, in the order of the day."""
    return _planned_between(site, today - WEEK, today + WEEK)


def _planned_between(site: Site, first: date, last: date) -> list[Meal]:
    planned = Serving.objects.planned().filter(site=site).between(first, last)
    held = set(planned.order_by().values_list("meal", flat=True).distinct())
    return [meal for meal in Meal if meal.value in held]


def _ways(request: SignedInRequest, place: Place) -> dict[str, bool]:
    """Where the person may go on from here."""
    reads_menu = Permit(Thing.MENU, Act.READ)
    return {
        "reads_menu": any(holds(post, reads_menu) for post in request.posts),
        "changes_plan": visible_sites(request.user, GATES["meal-exchange"]).filter(pk=place.site.pk).exists(),
    }


urls = [path("meals/", meals, name="meals")]
