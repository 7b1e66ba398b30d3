"""The order of work of one meal: as it is, as it could be, what that spares whom; taken over, put back, printed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path, reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from compliance.checks.cycle import lifted_at_meal
from compliance.checks.load import load
from compliance.checks.ordereffect import Met, Turn, effect, met_by
from compliance.checks.orderplan import (
    OrderOfWork,
    changed_rows,
    meal_work,
    order_of_work,
    with_changes,
    written_rows,
)
from compliance.checks.ordersheet import in_order, sheet_rows
from compliance.checks.orderwork import MealWork
from compliance.checks.texture import withheld_from
from compliance.checks.texturesaid import Told, meal_lines
from compliance.reports.cooksheet import CookSheet, cooksheet_pdf
from compliance.web.cautions import CAUTIONS
from compliance.web.orderwork_form import OrderForm
from compliance.web.orderwork_said import Concerned, concerned, lifted_line, said_of, stays
from compliance.web.orderwork_token import Proposed, sealed, unsealed
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.tags import demo_codes
from menus.models import Meal
from menus.planning.faults import Unworkable
from menus.services.orderwork import change_plan, last_change, restore_plan
from roster.access import visible_classrooms
from roster.models import Verb
from roster.record.write import record

AHEAD = timedelta(days=13)
"""How far ahead a change of the usual order is looked at before it is taken over."""

PRINTED = ("raw-food", "kitchen-log", "cooking", "package", "decides")


@require_safe
def order(request: SignedInRequest) -> HttpResponse:
    """Show the meal's order of work; with `look`, search for a better one and show it beside."""
    place = place_of(request)
    form = OrderForm(request.GET, site=place.site, today=place.today)
    shown: dict[str, Any] = {"place": place, "site": place.site, "form": form, "as_of": timezone.now()}
    if form.is_valid():
        shown |= _meal(request, place, form)
    return render(request, "orderwork/order.html", shown)


def _meal(request: SignedInRequest, place: Place, form: OrderForm) -> dict[str, Any]:
    day, meal = form.cleaned_data["day"], Meal(form.cleaned_data["meal"])
    work = meal_work(place.site, day, meal.value, start=form.moment("start"), deadline=form.moment("by"))
    shown = {
        "day": day,
        "meal": meal,
        "work": work,
        "rows": in_order(sheet_rows(work.facts, place.site, day, meal.value)),
        "changed_at": last_change(place.site, meal.value),
        "seconds": settings.ORDER_OF_WORK_SECONDS,
    }
    if work.steps and request.GET.get("look"):
        try:
            return shown | _found(request, order_of_work(work, settings.ORDER_OF_WORK_SECONDS))
        except Unworkable as error:
            shown["problem"] = str(error)
    now = met_by(work.facts, work.today, day, day)
    carried = _named(request, (met for met in now.values() if met.carried))
    return shown | {"carried": carried, "textures": _textures(work, now.values())}


def _found(request: SignedInRequest, found: OrderOfWork) -> dict[str, Any]:
    work = found.meal
    return {
        "found": found,
        "textures": _textures(work, found.now_met.values()),
        "said": said_of(found.proposal, settings.ORDER_OF_WORK_SECONDS),
        "proposed": in_order(changed_rows(work, found.changes)) if found.changes else [],
        "carried": _named(request, (met for met in found.now_met.values() if met.carried)),
        "gone": _named(request, found.effect.gone),
        "new": _named(request, found.effect.new),
        "stay": _named(request, found.effect.stay),
        "token": sealed(work.site.code, work.day, work.meal, found.changes) if found.changes else "",
    }


def _textures(work: MealWork, mets: Iterable[Met]) -> list[tuple[str, list[Told]]]:
    """What the dishes of the meal ask for children with a level of texture, who are counted and not named."""
    cooked = [each for each in work.kitchen.servings if (each.date, each.meal) == (work.day, work.meal)]
    return meal_lines(cooked, work.day, work.facts.at, withheld_from(mets))


def _named(request: SignedInRequest, mets: Iterable[Met | Turn]) -> list[Concerned]:
    """Dish by dish: children by name where the person may see them, and counted where not."""
    return concerned(list(mets), set(visible_classrooms(request.user).values_list("pk", flat=True)))


@require_http_methods(["GET", "HEAD", "POST"])
def order_change(request: SignedInRequest) -> HttpResponse:
    """Show what taking the proposed order over changes, and on a post take it over."""
    place = place_of(request)
    proposed = unsealed((request.POST or request.GET).get("order", ""))
    if proposed is None or proposed.site != place.site.code:
        messages.error(request, "This proposal is too old, or of another kitchen. Nothing was changed: look again.")
        return redirect(_address(place, place.today, Meal.LUNCH))
    work = meal_work(place.site, proposed.day, proposed.meal)
    if not _still_stands(work, proposed):
        return render(request, "orderwork/stale.html", _two_orders(place, work, proposed))
    if request.method == "POST" and request.POST.get("looked"):
        return _take_over(request, place, work, proposed)
    return render(request, "orderwork/change.html", _preview(request, place, work, proposed))


def _preview(request: SignedInRequest, place: Place, work: MealWork, proposed: Proposed) -> dict[str, Any]:
    """What changes on the days ahead, for everybody whom the kitchen cooks for."""
    last = place.today + AHEAD
    facts = load(place.site, place.today, last, work.facts.at)
    found = effect(
        met_by(facts, place.today, place.today, last),
        met_by(with_changes(work, facts, proposed.changes), place.today, place.today, last),
    )
    return {
        "place": place,
        "site": place.site,
        "as_of": work.facts.at,
        "day": proposed.day,
        "meal": Meal(proposed.meal),
        "rows": in_order(changed_rows(work, proposed.changes)),
        "last": last,
        "gone": _named(request, found.gone),
        "new": _named(request, found.new),
        "token": request.POST.get("order") or request.GET["order"],
        "unlooked": request.method == "POST",
        "back": _address(place, proposed.day, proposed.meal),
    }


def _two_orders(place: Place, work: MealWork, proposed: Proposed) -> dict[str, Any]:
    """The order that was proposed beside the one that somebody put in its way."""
    meal = Meal(proposed.meal)
    now = in_order(sheet_rows(work.facts, place.site, proposed.day, meal.value))
    names = {pk: str(surface) for pk, surface in work.surfaces.items()}
    changes = sorted(proposed.changes, key=lambda change: change.at)
    return {
        "place": place,
        "site": place.site,
        "as_of": work.facts.at,
        "meal": meal,
        "day": proposed.day,
        "rows": now,
        "proposed": [(change.at, names.get(change.surface, "gone by now"), change.method) for change in changes],
        "back": _address(place, proposed.day, proposed.meal),
    }


def _take_over(request: SignedInRequest, place: Place, work: MealWork, proposed: Proposed) -> HttpResponse:
    rows = {row.pk: row for row in work.facts.steps}
    written = written_rows(place.site, proposed.meal, proposed.changes, rows, work.surfaces)
    withdraw = [change.old for change in proposed.changes if change.old is not None]
    try:
        with transaction.atomic():
            at = change_plan(site=place.site, meal=proposed.meal, withdraw=withdraw, write=written)
            record(Verb.RECORDED, "order of work", site=place.site, meal=proposed.meal, at=at, withdrawn=withdraw)
    except ValidationError as error:
        messages.error(request, "Nothing was changed. " + " ".join(error.messages))
    else:
        messages.success(
            request, "The order of work is changed from now on. The menus that it bears on are checked again now."
        )
    return redirect(_address(place, proposed.day, proposed.meal))


def _still_stands(work: MealWork, proposed: Proposed) -> bool:
    standing = {row.pk for row in work.facts.steps if row.withdrawn_at is None}
    wanted = {change.old for change in proposed.changes if change.old is not None}
    return wanted <= standing and {change.surface for change in proposed.changes} <= work.surfaces.keys()


@require_POST
def order_restore(request: SignedInRequest) -> HttpResponse:
    """Put back the order of work that stood before the last change."""
    place = place_of(request)
    form = OrderForm(request.POST, site=place.site, today=place.today)
    if not form.is_valid():
        messages.error(request, "Nothing was put back: the day or the meal is not valid. Look at the order again.")
        return redirect(_address(place, place.today, Meal.LUNCH))
    meal = form.cleaned_data["meal"]
    try:
        with transaction.atomic():
            changed = _moment(request.POST.get("changed_at", ""))
            restore_plan(site=place.site, meal=meal, changed_at=changed)
            record(Verb.RECORDED, "order of work", site=place.site, meal=meal, put_back=changed)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, "The order of work before the last change is the plan again.")
    return redirect(_address(place, form.cleaned_data["day"], meal))


def _moment(text: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError as error:
        raise ValidationError("This change is not known. Nothing was put back: look at the order again.") from error


@require_safe
def order_sheet(request: SignedInRequest) -> HttpResponse:
    """Hand out the cook's sheet: of the order proposed where one is named, else of the plan."""
    place = place_of(request)
    form = OrderForm(request.GET, site=place.site, today=place.today)
    proposed = unsealed(request.GET["order"]) if request.GET.get("order") else None
    if not form.is_valid() or (request.GET.get("order") and (proposed is None or proposed.site != place.site.code)):
        messages.error(request, "There is no such sheet any more: the proposal is too old. Look again.")
        return redirect(_address(place, place.today, Meal.LUNCH))
    day, meal = form.cleaned_data["day"], Meal(form.cleaned_data["meal"])
    work = meal_work(place.site, day, meal.value)
    if proposed and not _still_stands(work, proposed):
        messages.error(
            request, "The order of work was changed meanwhile, so there is no sheet of this one. Look again."
        )
        return redirect(_address(place, day, meal))
    sheet = _sheet(work, meal, proposed)
    name = f'attachment; filename="{sheet.file_name}"'
    record(Verb.EXPORTED, "cook's sheet", site=place.site, day=day, meal=meal.value)
    return HttpResponse(cooksheet_pdf(sheet), content_type="application/pdf", headers={"Content-Disposition": name})


def _sheet(work: MealWork, meal: Meal, proposed: Proposed | None) -> CookSheet:
    facts = with_changes(work, work.facts, proposed.changes) if proposed else work.facts
    met = met_by(facts, work.today, work.day, work.day)
    textures = [f"{dish}: {each}" for dish, lines in _textures(work, met.values()) for each in lines]
    printed = [*PRINTED, "texture"] if textures else PRINTED
    return CookSheet(
        site=work.site,
        day=work.day,
        meal=meal,
        as_of=work.facts.at,
        rows=(
            changed_rows(work, proposed.changes)
            if proposed
            else sheet_rows(work.facts, work.site, work.day, meal.value)
        ),
        stays=stays(each for each in met.values() if each.carried and each.serving.meal == meal.value),
        lifted=[lifted_line(dish, count) for dish, count in lifted_at_meal(work.facts, work.day, meal.value)],
        textures=textures,
        cautions=[CAUTIONS[name] for name in (("demo", *printed) if work.site.code in demo_codes() else printed)],
        proposed=proposed is not None,
    )


def _address(place: Place, day: date, meal: str) -> str:
    where = {"site": place.site.code, "day": day.isoformat(), "meal": str(meal)}
    return f"{reverse('order-of-work')}?{urlencode(where)}"


urls = [
    path("kitchen/order/", order, name="order-of-work"),
    path("kitchen/order/change/", order_change, name="order-change"),
    path("kitchen/order/restore/", order_restore, name="order-restore"),
    path("kitchen/order/sheet.pdf", order_sheet, name="order-sheet"),
]
