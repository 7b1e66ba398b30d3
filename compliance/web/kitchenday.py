"""A kitchen's day: the picture of it, what carried over, and the records of what was really done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.dateparse import parse_date
from django.utils.http import urlencode
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.dayline import CLOSING_WASH
from compliance.checks.kitchenday import KitchenDay, Row, day_news, kitchen_day
from compliance.checks.pageread import read_of_kitchen
from compliance.checks.served import checked
from compliance.checks.texture import DishTexture, dish_textures, levels_by_site
from compliance.checks.texturesaid import Told, levels_counted, texture_lines
from compliance.web.kitchenday_form import RecordForm, UndoForm
from compliance.web.kitchenday_picture import picture
from compliance.web.kitchendish_form import LeftoverForm, SwapForm
from compliance.web.place import Place, place_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.uptodate import watched_kitchen
from menus.kitchen.cleaning import method_names, methods, removes
from menus.models import Deed, KitchenEvent, Serving, Site, Surface
from menus.services.closed import closures_at, is_served
from menus.services.kitchen import FOLLOWED, UNDO_FOR, record_event, take_back
from roster.access import may
from roster.permits import Act, Thing


@dataclass(frozen=True, slots=True)
class Washing:
    """How one piece of equipment is cleaned: in one tap, in other ways that work, and in ways that do not."""

    usual: tuple[str, str] | None
    others: tuple[tuple[str, str], ...]
    idle: tuple[tuple[str, str], ...]


@require_safe
def day(request: SignedInRequest) -> HttpResponse:
    """Show the day of one kitchen."""
    place = place_of(request)
    asked = _asked(request, place)
    read = read_of_kitchen(place.site, asked)  # before the rest is read
    shown = kitchen_day(request.user, place.site, asked)
    watched = watched_kitchen(place.site.code, asked, read)
    return render(request, "kitchenday/day.html", _page(request, place, shown) | {"watched": watched})


@require_safe
def news(request: SignedInRequest) -> HttpResponse:
    """Show what is new on the day, for the page to ask again and again."""
    place = place_of(request)
    asked = _asked(request, place)
    found = day_news(request.user, place.site, asked)
    shown = {"news": found, "site": place.site, "day": asked, "seen": request.GET.get("run", "")}
    return render(request, "kitchenday/news.html", shown)


@require_POST
def record(request: SignedInRequest) -> HttpResponse:
    """Keep what was done, and go back to the day."""
    place = kitchen_of(request)
    asked = _asked(request, place)
    form = RecordForm(place.site, asked, request.POST)
    if not form.is_valid():
        messages.error(request, "Nothing was recorded. " + " ".join(_sentences(form.errors.values())))
        return back_to_day(place.site, asked)
    try:
        kept = keep(request, place, form)
    except ValidationError as error:
        messages.error(request, "Nothing was recorded. " + " ".join(error.messages))
        return back_to_day(place.site, asked)
    _say_kept(request, kept)
    return back_to_day(place.site, asked)


@require_POST
def undo(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take a record back: within a minute by a tap, later with a word why."""
    place = kitchen_of(request)
    event = get_object_or_404(KitchenEvent, pk=pk, site=place.site)
    asked = event.happened_at.astimezone(place.site.zone).date()
    form = UndoForm(request.POST)
    try:
        if not form.is_valid():
            raise ValidationError(_sentences(form.errors.values()))
        take_back(event=event, user=request.user, **form.cleaned_data)
    except ValidationError as error:
        messages.error(request, "Nothing was taken back. " + " ".join(error.messages))
    else:
        messages.success(request, f"Taken back: {told(event)}. The record stays, marked as taken back.")
    return back_to_day(place.site, asked)


def kitchen_of(request: SignedInRequest) -> Place:
    """Return the place of a page on which only the kitchen of that site may write; 404 for everybody else."""
    return place_of(request)


def keep(request: SignedInRequest, place: Place, form: RecordForm | SwapForm | LeftoverForm) -> KitchenEvent:
    """Record what a valid form says was done. Raises ValidationError."""
    return record_event(
        site=place.site,
        user=request.user,
        doing=form.doing,
        happened_at=form.happened_at,
        token=form.cleaned_data["token"],
    )


def back_to_day(site: Site, asked: date) -> HttpResponse:
    """Go back to the day of the kitchen."""
    where = urlencode({"site": site.code, "day": asked.isoformat()})
    return redirect(f"{reverse('kitchen-day')}?{where}")


def told(event: KitchenEvent) -> str:
    """Return a record as the page says it, in the kitchen's time."""
    at = event.happened_at.astimezone(event.site.zone)
    names = [str(each) for each in (event.surface, event.serving.recipe if event.serving else None) if each]
    return f"{event.get_kind_display()}, {' and '.join(names)}, {at:%H:%M}" if names else event.get_kind_display()


def _say_kept(request: SignedInRequest, kept: KitchenEvent) -> None:
    messages.success(request, f"Recorded: {told(kept)}. The menus that it bears on are checked again now.")
    if kept.kind == Deed.CLEAN and kept.surface and not removes(kept.method, kept.surface.material):
        messages.warning(
            request,
            f"“{method_names()[kept.method]}” takes no allergen off {kept.surface}: what lay on it counts as before.",
        )


def _sentences(errors: Iterable[Iterable[Any]]) -> list[str]:
    return [str(each) for found in errors for each in found]


def _asked(request: SignedInRequest, place: Place) -> date:
    """The day in the address, as far as kitchens are followed; today for any other."""
    try:
        asked = parse_date(request.GET.get("day", ""))
    except ValueError:
        asked = None
    return asked if asked and abs(asked - place.today) <= FOLLOWED else place.today


def _page(request: SignedInRequest, place: Place, shown: KitchenDay) -> dict[str, Any]:
    closed = closures_at(place.site, shown.day, shown.day)
    levels = levels_by_site({dish.site_id for dish in shown.dishes}, shown.day, shown.now)
    textures = dish_textures(shown.dishes, levels, shown.now)
    return {
        "dishes": [(dish, _texture_lines(textures.get(dish.pk), shown, dish)) for dish in shown.dishes],
        "levels": levels_counted(levels),
        "place": place,
        "site": place.site,
        "as_of": shown.now,
        "shown": shown,
        "closed": closed.get(shown.day, []),
        "despite": {
            dish.pk
            for dish in shown.dishes
            if dish.site_id == place.site.pk and not is_served(closed, shown.day, dish.meal)
        },
        "checked": set(checked().filter(serving__in=shown.dishes).values_list("serving", flat=True)),
        "today": place.today,
        "earlier": shown.day - timedelta(days=1),
        "later": shown.day + timedelta(days=1),
        "picture": picture(shown),
        "quiet": [carry for carry in shown.carries if carry.outcome is None],
        "rows": [(row, washing(row)) for row in shown.rows if row.entries],
        "idle": [(row, washing(row)) for row in shown.rows if not row.entries],
        "may_record": shown.day <= place.today and may(request.user, Thing.KITCHEN_DAY, Act.ADD, site=place.site),
        "undoable": [event for event in shown.records if _can_undo(request, event, shown)],
        "token": uuid4,
        "news": shown.news,
        "day": shown.day,
        "seen": str(shown.news.run.pk if shown.news.run else ""),
    }


def _texture_lines(texture: DishTexture | None, shown: KitchenDay, dish: Serving) -> list[Told]:
    return texture_lines(texture.without(shown.withheld.get(dish.pk, ()))) if texture else []


def _can_undo(request: SignedInRequest, event: KitchenEvent, shown: KitchenDay) -> bool:
    fresh = shown.now - event.recorded_at < UNDO_FOR
    return fresh and event.recorded_by_id == request.user.pk and event.pk in shown.standing


def washing(row: Row) -> Washing:
    """Return the cleanings to offer: the planned one first, else the usual one of that material."""
    names = method_names()
    fitting = [code for code in names if _is_for(code, row.surface)]
    work = [code for code in fitting if removes(code, row.surface.material)]
    planned = row.open_cleaning.method if row.open_cleaning else ""
    usual = next((code for code in (planned, CLOSING_WASH.get(row.surface.material), *work) if code in work), None)
    return Washing(
        usual=(usual, names[usual]) if usual else None,
        others=tuple((code, names[code]) for code in work if code != usual),
        idle=tuple((code, names[code]) for code in fitting if code not in work),
    )


def _is_for(method: str, surface: Surface) -> bool:
    """Tell whether somebody would clean such a thing in that way: the table speaks of its material, or of any."""
    return method != "cook_heat" and not methods()[method].keys().isdisjoint({surface.material, "any"})


urls = [
    path("kitchen/day/", day, name="kitchen-day"),
    path("kitchen/day/news/", news, name="kitchen-news"),
    path("kitchen/day/record/", record, name="kitchen-record"),
    path("kitchen/day/records/<int:pk>/undo/", undo, name="kitchen-undo"),
]
