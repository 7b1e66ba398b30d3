"""Meals for children with restrictions: worked out on request, shown by day, printed as counts and tray cards."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.pageread import changed, read_of_meals
from compliance.checks.wholemeals.keep import WEEK, newest, work_out
from compliance.models import MealPlan
from compliance.reports.mealcounts import MealCounts, mealcounts_pdf
from compliance.reports.traycards import TrayCard, TrayCards, traycards_pdf
from compliance.web.cautions import CAUTIONS
from compliance.web.handout import shown_pdf
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.tags import demo_codes
from compliance.web.wholemeals_look import MealLook, Tray, looked
from compliance.web.wholemeals_said import by_hand_said, search_said
from menus.models import Alternative
from menus.models.cycle import monday_of
from roster.access import may
from roster.models import Verb
from roster.permits import Act, Thing
from roster.record.write import record

AHEAD = timedelta(days=60)
"""How far from today a day may lie: labels, menus and class lists change."""

PRINTED = ("whole-meals", "package", "discreet")


@require_safe
def day(request: SignedInRequest) -> HttpResponse:
    """Show the meals of one day as they were last worked out for its week."""
    place = place_of(request)
    asked = _asked(request, place)
    plan = newest(place.site, monday_of(asked))
    now = timezone.now()
    context = {
        "place": place,
        "site": place.site,
        "day": asked,
        "today": place.today,
        "earlier": asked - timedelta(days=1),
        "later": asked + timedelta(days=1),
        "monday": monday_of(asked),
        "plan": plan,
        "as_of": plan.recorded_at if plan else now,
        "on_hand": Alternative.objects.between(asked, asked).filter(site=place.site).count(),
        "may_work": may(request.user, Thing.WHOLE_MEALS, Act.ADD, site=place.site),
        "may_print": may(request.user, Thing.WHOLE_MEALS, Act.EXPORT, site=place.site),
        "sees_why": may(request.user, Thing.MEDICAL, Act.READ, site=place.site),
    }
    if plan:
        context |= {
            "meals": looked(plan, asked, request.user, now),
            "changes": _changes(plan),
            "search": search_said(plan),
            "by_hand": by_hand_said(plan),
        }
    return render(request, "wholemeals/day.html", context)


@require_POST
def work(request: SignedInRequest) -> HttpResponse:
    """Work the week out, keep it, and go back to the day."""
    place = place_of(request)
    asked = _asked(request, place)
    plan = work_out(site=place.site, monday=monday_of(asked), user=request.user)
    dishes = sum(len(meal["extra"]) for meal in plan.result["meals"])
    messages.success(request, f"Worked out for the week of {plan.monday:%d %B}. No menu was changed.")
    if not dishes:
        messages.info(request, "No dish on hand is needed, or none that is on hand helps: see the meals below.")
    return redirect(_address(place, asked))


@require_safe
def counts(request: SignedInRequest) -> HttpResponse:
    """Hand out the day's sheet for the kitchen: portions by dish. No child is named on it."""
    place, asked, plan, meals = _printed(request)
    sheet = MealCounts(
        site=place.site,
        day=asked,
        as_of=plan.recorded_at,
        meals=[(each.meal.label, each.extra, each.planned, len(each.unmet) + each.unseen) for each in meals],
        changes=_changes(plan),
        cautions=_cautions(place, PRINTED),
    )
    record(Verb.EXPORTED, "meal counts", site=place.site, by=request.user.pk, day=asked.isoformat())
    return shown_pdf(mealcounts_pdf(sheet), f"meal-counts-{place.site.code}-{asked.isoformat()}.pdf")


@require_safe
def cards(request: SignedInRequest) -> HttpResponse:
    """Hand out a card for each tray that differs from the meal of all."""
    place, asked, plan, meals = _printed(request)
    sheet = TrayCards(
        site=place.site,
        day=asked,
        as_of=plan.recorded_at,
        cards=[_card(tray, each) for each in meals for tray in each.trays if tray.differs],
        changes=_changes(plan),
        cautions=_cautions(place, PRINTED),
    )
    children = sorted({tray.child for each in meals for tray in each.trays if tray.differs})
    record(Verb.EXPORTED, "tray cards", site=place.site, by=request.user.pk, day=asked.isoformat(), children=children)
    return shown_pdf(traycards_pdf(sheet), f"tray-cards-{place.site.code}-{asked.isoformat()}.pdf")


def _card(tray: Tray, look: MealLook) -> TrayCard:
    return TrayCard(
        name=tray.name,
        classroom=tray.classroom,
        meal=look.meal.label,
        keep_away=tray.keep_away,
        dishes=tray.dishes,
        extra=tray.gets,
        is_open=bool(tray.open),
    )


def _printed(request: SignedInRequest) -> tuple[Place, date, MealPlan, list[MealLook]]:
    place = place_of(request)
    asked = _asked(request, place)
    plan = newest(place.site, monday_of(asked))
    if plan is None:
        raise Http404("Nothing was worked out for this week, so there is nothing to print.")
    return place, asked, plan, looked(plan, asked, request.user, timezone.now())


def _changes(plan: MealPlan) -> list[str]:
    return changed(plan.read, read_of_meals(plan.site, plan.monday, plan.monday + WEEK))


def _cautions(place: Place, names: Sequence[str]) -> list[str]:
    return [CAUTIONS[name] for name in (("demo", *names) if place.site.code in demo_codes() else names)]


def _asked(request: SignedInRequest, place: Place) -> date:
    """The day in the address; today for one that lies too far off, or is none."""
    try:
        asked = parse_date(request.GET.get("day", ""))
    except ValueError:
        asked = None
    return asked if asked and abs(asked - place.today) <= AHEAD else place.today


def _address(place: Place, asked: date) -> str:
    return f"{reverse('whole-meals')}?{urlencode({'site': place.site.code, 'day': asked.isoformat()})}"


urls: list[Any] = [
    path("kitchen/meals/", day, name="whole-meals"),
    path("kitchen/meals/work-out/", work, name="whole-meals-work"),
    path("kitchen/meals/counts.pdf", counts, name="meal-counts"),
    path("kitchen/meals/cards.pdf", cards, name="tray-cards"),
]
