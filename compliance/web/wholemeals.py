"""Meals for children with restrictions: worked out on request, shown by day, printed as counts and tray cards."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.wholemeals.job import newest_job
from compliance.checks.wholemeals.standing import Standing, standing_on
from compliance.reports.mealcounts import MealCounts, mealcounts_pdf
from compliance.reports.traycards import TrayCard, TrayCards, traycards_pdf
from compliance.web.cautions import CAUTIONS
from compliance.web.handout import shown_pdf
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.tags import demo_codes
from compliance.web.wholemeals_address import asked_day
from compliance.web.wholemeals_form import SpanForm
from compliance.web.wholemeals_look import MealLook, Tray, looked
from compliance.web.wholemeals_said import by_hand_said, search_said
from compliance.web.wholemeals_texture import MealTextures, Textured, textures_at, tray_of_all
from compliance.web.wholemeals_weekly import weekly
from menus.models import Alternative, Meal
from menus.models.cycle import monday_of
from roster.access import may
from roster.models import Verb
from roster.permits import Act, Thing
from roster.record.write import record

PRINTED = ("whole-meals", "package", "discreet")


@require_safe
def day(request: SignedInRequest) -> HttpResponse:
    """Show the meals of one day as they were last worked out for its week."""
    place = place_of(request)
    asked = asked_day(request, place)
    standing = standing_on(place.site, asked)
    plan = standing.plan if standing else None
    now = timezone.now()
    sees_why = may(request.user, Thing.MEDICAL, Act.READ, site=place.site)
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
        "sees_why": sees_why,
        "span": SpanForm(site=place.site, day=asked),
        "job": newest_job(place.site),
    }
    if standing and plan:
        meals = looked(plan, asked, request.user, now)
        context |= {
            "meals": list(zip(meals, textures_at(plan, asked, request.user, now), strict=True)),
            "weekly": weekly(plan, request.user) if sees_why else [],
            "is_outlook": any(each.is_outlook for each in meals),
            "alone": [(Meal(part.meal).label, part.recorded_at) for part in standing.alone],
            "changes": standing.changes(),
            "search": search_said(plan),
            "by_hand": by_hand_said(plan),
        }
    return render(request, "wholemeals/day.html", context)


@require_safe
def counts(request: SignedInRequest) -> HttpResponse:
    """Hand out the day's sheet for the kitchen: portions by dish. No child is named on it."""
    place, asked, standing, meals = _printed(request)
    textures = textures_at(standing.plan, asked, request.user, timezone.now())
    sheet = MealCounts(
        site=place.site,
        day=asked,
        as_of=standing.plan.recorded_at,
        meals=[(each.meal.label, each.extra, each.planned, len(each.unmet) + each.unseen) for each in meals],
        textures=[each.counts for each in textures],
        changes=standing.changes(),
        cautions=_cautions(place, (*PRINTED, "texture") if any(each.counts for each in textures) else PRINTED),
    )
    record(Verb.EXPORTED, "meal counts", site=place.site, by=request.user.pk, day=asked.isoformat())
    return shown_pdf(mealcounts_pdf(sheet), f"meal-counts-{place.site.code}-{asked.isoformat()}.pdf")


@require_safe
def cards(request: SignedInRequest) -> HttpResponse:
    """Hand out a card for each tray that differs from the meal of all."""
    place, asked, standing, meals = _printed(request)
    textures = textures_at(standing.plan, asked, request.user, timezone.now())
    printed = [card for look, levels in zip(meals, textures, strict=True) for card in _cards(look, levels)]
    sheet = TrayCards(
        site=place.site,
        day=asked,
        as_of=standing.plan.recorded_at,
        cards=[card for _, card in printed],
        changes=standing.changes(),
        cautions=_cautions(place, (*PRINTED, "texture") if any(each.counts for each in textures) else PRINTED),
    )
    children = sorted({child for child, _ in printed})
    record(Verb.EXPORTED, "tray cards", site=place.site, by=request.user.pk, day=asked.isoformat(), children=children)
    return shown_pdf(traycards_pdf(sheet), f"tray-cards-{place.site.code}-{asked.isoformat()}.pdf")


def _cards(look: MealLook, levels: MealTextures) -> Iterator[tuple[int, TrayCard]]:
    """A card, with its child, for each tray that is not the meal of all or that asks for a level of texture."""
    trays = {tray.child: tray for tray in look.trays}
    for tray in look.trays:
        if tray.differs or levels.of(tray.child):
            yield tray.child, _card(tray, look, levels.of(tray.child))
    for each in levels.children:
        if each.child not in trays:
            yield each.child, _card(tray_of_all(each), look, each)


def _card(tray: Tray, look: MealLook, level: Textured | None) -> TrayCard:
    return TrayCard(
        name=tray.name,
        classroom=tray.classroom,
        meal=look.meal.label,
        keep_away=tray.keep_away,
        dishes=tray.dishes,
        extra=tray.gets,
        is_open=bool(tray.open),
        texture=(level.says, *level.lines) if level else (),
    )


def _printed(request: SignedInRequest) -> tuple[Place, date, Standing, list[MealLook]]:
    place = place_of(request)
    asked = asked_day(request, place)
    standing = standing_on(place.site, asked)
    if standing is None:
        raise Http404("Nothing was worked out for this day, so there is nothing to print.")
    meals = looked(standing.plan, asked, request.user, timezone.now())
    if any(each.is_outlook for each in meals):
        raise Http404("No check reaches this day yet: nothing is printed by which somebody could hand out food.")
    return place, asked, standing, meals


def _cautions(place: Place, names: Sequence[str]) -> list[str]:
    return [CAUTIONS[name] for name in (("demo", *names) if place.site.code in demo_codes() else names)]


urls: list[Any] = [
    path("kitchen/meals/", day, name="whole-meals"),
    path("kitchen/meals/counts.pdf", counts, name="meal-counts"),
    path("kitchen/meals/cards.pdf", cards, name="tray-cards"),
]
