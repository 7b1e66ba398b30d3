"""A child's lunchbox of one day: what is in it, what that means for the child and its room, and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.views.decorators.http import require_http_methods

from compliance.checks.age import AgeNotice
from compliance.checks.lunchbox import JudgedFood, judge_box
from compliance.checks.texturesaid import texture_says
from compliance.web.gates import children_for
from compliance.web.guardian import shown_to_guardian
from compliance.web.language import in_own_language
from compliance.web.lunchbox_advice import age_says, balance_says, keeping_says, protein_says
from compliance.web.lunchbox_bench import Bench
from compliance.web.lunchbox_form import AHEAD
from compliance.web.lunchbox_said import causes_say, food_name, rules_say, shape_name
from compliance.web.lunchbox_week import day_asked
from compliance.web.signed_in import SignedInRequest
from menus.models import Product, Site
from roster.access import own_children, visible_classrooms
from roster.models import Classroom

MATCHES = 8


@dataclass(frozen=True, slots=True)
class Shown:
    """One food as the page shows it."""

    number: int
    name: str
    shape: str
    food: JudgedFood
    causes: list[tuple[str, str]]  # what is said, and the words of the label
    by_age: tuple[tuple[str, AgeNotice], ...]  # what to do about its shape, and who says so


@require_http_methods(["GET", "HEAD", "POST"])
@in_own_language
def lunchbox(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show the box of `?day=`, and change it."""
    child = get_object_or_404(children_for(request), pk=pk)
    today = child.today
    day = day_asked(request, "day") or today
    stay = child.stay_on(day)
    if stay is None:
        raise Http404("This child was never enrolled at any site.")
    bench = Bench(request, child, stay.classroom, day)
    if request.method == "POST":
        if not today <= day <= today + AHEAD:
            raise Http404("Boxes are put together for today and the coming four weeks.")
        if told := bench.act():
            messages.success(request, told)
            return redirect(f"{reverse('lunchbox', args=[pk])}?day={day.isoformat()}")
    return render(request, "lunchbox/box.html", _context(request, bench, stay.holds_on(day)))


def _context(request: SignedInRequest, bench: Bench, in_class: bool) -> dict[str, Any]:
    box = bench.box if bench.is_open else None
    answer = judge_box(
        bench.child,
        bench.room,
        bench.day,
        bench.packed,
        packed_at=box.packed_at if box else None,
        eaten_at=box.eaten_at if box else None,
        at_temperature=bool(box and box.kept_at_temperature),
    )
    query = request.GET.get("q", "").strip()
    return shown_to_guardian(
        child=bench.child,
        site=bench.room.site,
        in_class=in_class,
        week_of=_class_of(request, bench),
        as_of=answer.as_of,
        day=bench.day,
        box=bench.box,
        may_change=bench.copy.today <= bench.day <= bench.copy.today + AHEAD,
        answer=answer,
        shown=[_shown(number, food) for number, food in enumerate(answer.foods, start=1)],
        together=causes_say(answer.together),
        rules=rules_say(answer),
        texture=texture_says(answer.setting.texture) if answer.setting.texture else "",
        kept=keeping_says(answer.keeping),
        balance=balance_says(answer),
        protein=protein_says(answer.protein),
        household=bench.household,
        own=bench.own,
        times=bench.times_form,
        copy=bench.copy,
        query=query,
        matches=_matches(bench.room.site, query),
        told=bench.told,
    )


def _class_of(request: SignedInRequest, bench: Bench) -> Classroom | None:
    """The class whose week the page leads back to; None where it is that of the person's own children."""
    if own_children(request.user).filter(pk=bench.child.pk).exists():
        return None
    return visible_classrooms(request.user).filter(pk=bench.room.pk).first()


def _shown(number: int, food: JudgedFood) -> Shown:
    by_age = tuple((age_says(notice.what), notice) for notice in food.notices)
    return Shown(number, food_name(food.packed), shape_name(food.packed), food, causes_say(food.causes), by_age)


def _matches(site: Site, query: str) -> list[Product]:
    """What the kitchens of the service have on record; treats that others brought are nobody's to find here."""
    if len(query) < 2:
        return []
    return list(Product.objects.used_at([site]).for_kitchen().matching(query)[:MATCHES])


urls = [path("lunchboxes/<int:pk>/", lunchbox, name="lunchbox")]
