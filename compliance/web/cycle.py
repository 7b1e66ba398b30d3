"""The cycle menu as a calendar, and the same calendar checked: how many children at which outcome for each dish."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.cycle import Cell, cycle_grid
from compliance.checks.run import SiteBusy, check_site
from compliance.models import Run
from compliance.rules.values import Outcome
from compliance.web.calendar import Count, Dish, weeks
from compliance.web.place import place_of
from compliance.web.signed_in import SignedInRequest
from menus.models import CycleMenu, Meal, Recipe, Serving, Site
from menus.models.cycle import monday_of
from menus.services.closed import closures_at
from menus.services.servings import called_for

CALENDAR = timedelta(weeks=4)
CHECKED = timedelta(weeks=2)
DAY = timedelta(days=1)
EARLIEST, LATEST = date(2000, 1, 1), date(2999, 1, 1)
"""Beyond these nobody plans a menu, and weeks before and after them would run out of the calendar."""


@require_safe
def cycle(request: SignedInRequest) -> HttpResponse:
    """Show four weeks of the menu, by week, day and meal."""
    place = place_of(request)
    first = monday_of(_asked(request) or place.today)
    last = first + CALENDAR - DAY
    return render(
        request,
        "cycle/cycle.html",
        {
            "place": place,
            "site": place.site,
            "weeks": weeks(
                _planned(place.site, first, last, place.today), first, last, closures_at(place.site, first, last)
            ),
            "cycles": CycleMenu.objects.filter(site=place.site),
            "today": place.today,
            "earlier": first - CALENDAR,
            "later": first + CALENDAR,
        },
    )


@require_safe
def cycle_check(request: SignedInRequest) -> HttpResponse:
    """Show two weeks of dishes, each with how many children stand at which outcome."""
    place = place_of(request)
    first = _asked(request) or place.today
    last = first + CHECKED - DAY
    grid = cycle_grid(request.user, place.site, first, last)
    only_found = bool(request.GET.get("found"))
    cells = [cell for cell in grid.cells if not only_found or cell.withhold or cell.refer or not cell.checked]
    return render(
        request,
        "cycle/check.html",
        {
            "place": place,
            "site": place.site,
            "run": grid.run,
            "as_of": grid.run.as_of if grid.run else None,
            "unchecked": sum(not cell.checked for cell in grid.cells),
            "dishes": len(grid.cells),
            "with_exceptions": sum(bool(cell.withhold or cell.refer) for cell in grid.cells),
            "weeks": weeks(map(_dish, cells), first, last, closures_at(place.site, first, last)),
            "only_found": only_found,
            "first": first,
            "today": place.today,
            "earlier": first - CHECKED,
            "later": first + CHECKED,
        },
    )


@require_POST
def cycle_recheck(request: SignedInRequest) -> HttpResponse:
    """Check the site's coming days now, and show the result."""
    place = place_of(request)
    try:
        run = check_site(site=place.site, trigger=Run.Trigger.HAND)
    except SiteBusy as busy:
        messages.info(request, str(busy))
    else:
        messages.success(request, f"Checked {run.counts['servings']} dishes on the plan of {place.site}.")
    return redirect(f"{reverse('cycle-check')}?site={place.site.code}")


def _asked(request: SignedInRequest) -> date | None:
    """The day in the address; one that is no date counts as none, so that a mistyped address still answers."""
    try:
        asked = parse_date(request.GET.get("from", ""))
    except ValueError:
        return None
    return asked if asked and EARLIEST <= asked <= LATEST else None


def _planned(site: Site, first: date, last: date, today: date) -> Iterator[Dish]:
    """Dishes on the plan, and from today on those that the cycle calls for and that stand on no plan yet."""
    servings = Serving.objects.planned().filter(site=site).between(first, last)
    standing = set()
    for serving in servings.select_related("recipe", "in_place_of__recipe"):
        instead = serving.in_place_of.recipe if serving.in_place_of else serving.recipe
        standing |= {(site.pk, serving.date, serving.meal, recipe) for recipe in serving.stands_for}
        yield Dish(
            serving.date,
            Meal(serving.meal),
            serving.recipe.name,
            serving.pk,
            choice=serving.choice,
            instead_of=instead.name if instead != serving.recipe else "",
        )
    called = called_for([site], max(first, today), last)
    missing = {where: said.choice for where, said in called if where not in standing}
    names = dict(Recipe.objects.filter(pk__in={recipe for *_, recipe in missing}).values_list("pk", "name"))
    for (_, day, meal, recipe), choice in missing.items():
        yield Dish(day, Meal(meal), names[recipe], choice=choice)


def _dish(cell: Cell) -> Dish:
    serving = cell.serving
    found = ((Outcome.WITHHOLD, len(cell.withhold)), (Outcome.REFER, len(cell.refer)))
    counts = tuple(Count(outcome, children) for outcome, children in found if children)
    return Dish(
        serving.date,
        Meal(serving.meal),
        serving.recipe.name,
        serving.pk,
        counts if cell.checked else None,
        choice=serving.choice,
    )


urls = [
    path("cycle/", cycle, name="cycle"),
    path("cycle/check/", cycle_check, name="cycle-check"),
    path("cycle/check/now/", cycle_recheck, name="cycle-recheck"),
]
