"""Having meals worked out: the week or one meal at once, several weeks as one task whose end the page waits for."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.wholemeals.job import JobOpen, ask, newest_job
from compliance.checks.wholemeals.keep import work_out, work_out_meal
from compliance.models import MealJob, MealPlan
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.wholemeals_address import asked_day, day_address, weeks_address
from compliance.web.wholemeals_form import SpanForm
from compliance.web.wholemeals_weeks_look import looked_at
from menus.models import Meal
from menus.models.cycle import monday_of
from roster.access import may
from roster.permits import Act, Thing


@require_POST
def work(request: SignedInRequest) -> HttpResponse:
    """Work out what was chosen, and go back to the day; several weeks are begun, and their page says how far it is."""
    place = place_of(request)
    day = asked_day(request, place)
    form = SpanForm(request.POST, site=place.site, day=day)
    if not form.is_valid():
        messages.error(request, f"Nothing was worked out. {' '.join(map(str, form.errors.get('span', [])))}")
        return redirect(day_address(place, day))
    if form.weeks > 1:
        return _begun(request, place, day, form.weeks)
    plan = _plan(request, place, day, form.meal)
    dishes = sum(len(meal["extra"]) for meal in plan.result["meals"])
    messages.success(request, f"Worked out: {_worked_out(plan)}. No menu was changed.")
    if not dishes:
        messages.info(request, "No dish on hand is needed, or none that is on hand helps: see the meals below.")
    return redirect(day_address(place, day))


@require_safe
def weeks(request: SignedInRequest) -> HttpResponse:
    """Show the weeks that were asked for last: how far it has come, and what they come to."""
    place = place_of(request)
    return render(request, "wholemeals/weeks.html", _context(request, place))


@require_safe
def weeks_now(request: SignedInRequest) -> HttpResponse:
    """Return the part of that page that changes while the weeks are worked out."""
    place = place_of(request)
    return render(request, "wholemeals/progress.html", _context(request, place) | {"asked_again": True})


def _context(request: SignedInRequest, place: Place) -> dict[str, Any]:
    now = timezone.now()
    job = newest_job(place.site)
    return {
        "place": place,
        "site": place.site,
        "as_of": now,
        "job": job,
        "stands": _stands(job, now) if job else "",
        "is_open": bool(job and job.is_open(now)),
        "still": "still" in request.GET,
        "look": looked_at(job) if job and job.state == MealJob.State.KEPT else None,
        "may_work": may(request.user, Thing.WHOLE_MEALS, Act.ADD, site=place.site),
    }


def _stands(job: MealJob, now: datetime) -> str:
    """How the request stands, in words."""
    if job.is_lost(now):
        return "Nothing was heard of it for half an hour: it was lost. Nothing was kept of it. Ask again."
    if job.state == MealJob.State.FAILED:
        return (
            "It failed, and nothing was kept of it. Ask again; if it fails again, work out the weeks one by one and "
            "tell whoever runs the service."
        )
    return job.get_state_display()


def _begun(request: SignedInRequest, place: Place, day: date, weeks: int) -> HttpResponse:
    try:
        ask(site=place.site, monday=monday_of(day), weeks=weeks, user=request.user)
    except JobOpen as open_one:
        messages.error(request, str(open_one))
    return redirect(weeks_address(place))


def _plan(request: SignedInRequest, place: Place, day: date, meal: str) -> MealPlan:
    if meal:
        return work_out_meal(site=place.site, day=day, meal=meal, user=request.user)
    return work_out(site=place.site, monday=monday_of(day), user=request.user)


def _worked_out(plan: MealPlan) -> str:
    if plan.day:
        return f"{Meal(plan.meal).label.lower()} of {plan.day:%A %d %B}"
    return f"the week of {plan.monday:%d %B}"


urls: list[Any] = [
    path("kitchen/meals/work-out/", work, name="whole-meals-work"),
    path("kitchen/meals/weeks/", weeks, name="whole-meals-weeks"),
    path("kitchen/meals/weeks/now/", weeks_now, name="whole-meals-now"),
]
