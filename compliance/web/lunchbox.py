"""A child's lunchbox of one day: what is in it, what that means for the child and its room, and what to do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods

from compliance.checks.lunchbox import Cause, JudgedFood, judge_box
from compliance.web.gates import children_for
from compliance.web.guardian import shown_to_guardian
from compliance.web.language import in_own_language
from compliance.web.lunchbox_form import AHEAD, CopyForm, HouseholdForm, OwnFoodForm, TimesForm
from compliance.web.lunchbox_said import (
    food_name,
    keeping_says,
    protein_says,
    rules_say,
    said_of,
    shape_name,
    texture_says,
)
from compliance.web.signed_in import SignedInRequest
from menus.models import Product, Site
from roster.life.lunchbox import Packed, StaleBox, box_of, packed_of, save_box
from roster.models import Child, LunchBox

MATCHES = 8


@dataclass(frozen=True, slots=True)
class Shown:
    """One food as the page shows it."""

    number: int
    name: str
    shape: str
    food: JudgedFood
    causes: tuple[tuple[str, str], ...]  # what is said, and the words of the label


class _Bench:
    """The box of one child on one day while it is put together: its forms, and what saves a version."""

    def __init__(self, request: SignedInRequest, child: Child, site: Site, day: date) -> None:
        self.request, self.child, self.site, self.day = request, child, site, day
        self.box = box_of(child, day)
        self.is_open = self.box is not None and not self.box.withdrawn
        self.packed = packed_of(self.box.items.select_related("product")) if self.box and self.is_open else []
        self.textured = child.texture_levels.exists()
        self.household = HouseholdForm(self._sent("household"), textured=self.textured, today=child.today)
        self.own = OwnFoodForm(self._sent("own"), site=site, textured=self.textured, today=child.today)
        times = {name: getattr(self.box, name) for name in self.times} if self.box and self.is_open else {}
        self.times_form = TimesForm(self._sent("times"), initial=times, label_suffix="")
        self.copy = CopyForm(self._sent("copy"), today=child.today)

    times = ("packed_at", "eaten_at", "kept_at_temperature")

    def _sent(self, do: str) -> Any:
        sent = self.request.POST
        return sent if self.request.method == "POST" and sent.get("do") == do else None

    def act(self) -> str:
        """Do what the button asks; return what to tell, or nothing where a form has to be mended."""
        acts: dict[str, Callable[[], str]] = {
            "household": lambda: self._put(self.household),
            "own": lambda: self._put(self.own),
            "product": self._product,
            "remove": self._remove,
            "times": self._times,
            "copy": self._copy,
            "withdraw": self._withdraw,
        }
        do = acts.get(self.request.POST.get("do", ""))
        if do is None:
            raise Http404("There is no such button.")
        return do()

    def _put(self, form: HouseholdForm | OwnFoodForm) -> str:
        if not form.is_valid():
            return ""
        packed = form.packed()
        told = gettext("Put in: %(food)s.") % {"food": food_name(packed)}
        return told if self._save(form, [*self.packed, packed]) else ""

    def _product(self) -> str:
        known = Product.objects.used_at([self.site]).for_kitchen()
        product = get_object_or_404(known, pk=_number(self.request.POST.get("product", "")))
        told = gettext("Put in: %(food)s.") % {"food": product.name}
        return told if self._save(self.own, [*self.packed, Packed(product.name, product=product)]) else ""

    def _remove(self) -> str:
        place = _number(self.request.POST.get("number", ""))
        kept = [each for number, each in enumerate(self.packed, start=1) if number != place]
        return gettext("Taken out.") if self._save(self.times_form, kept) else ""

    def _times(self) -> str:
        form = self.times_form
        if not form.is_valid():
            return ""
        return gettext("Kept.") if self._save(form, self.packed, **form.cleaned_data) else ""

    def _copy(self) -> str:
        if not self.copy.is_valid():
            return ""
        to: date = self.copy.cleaned_data["to"]
        there = box_of(self.child, to)
        if there and not there.withdrawn and to != self.day:
            self.copy.add_error("to", gettext("There is a box for that day already. Open it, or choose another day."))
            return ""
        told = gettext("Copied to %(day)s. Look at it nearer the day: labels change.") % {"day": to.isoformat()}
        return told if self._save(self.copy, self.packed, day=to, replaces=there) else ""

    def _withdraw(self) -> str:
        return gettext("No box is kept for that day any more.") if self._save(self.copy, [], withdrawn=True) else ""

    def _save(self, form: forms.Form, items: list[Packed], **more: Any) -> bool:
        """Keep a version; what stands against it goes on the form."""
        seen = LunchBox.objects.filter(child=self.child, day=self.day, pk=_number(self.request.POST.get("under", "")))
        kept = {name: getattr(self.box, name) for name in self.times} if self.box and self.is_open else {}
        asked = {"day": self.day, "replaces": seen.first(), **kept, **more}
        try:
            save_box(child=self.child, items=items, by=self.request.user, **asked)
        except StaleBox:
            stale = gettext("Somebody changed this box meanwhile, and nothing was saved. It stands here as it is now.")
            form.add_error(None, stale) if form.is_bound else self.request.session.update({"lunchbox": stale})
        except ValidationError as error:
            form.add_error(None, ValidationError(error.messages))
        else:
            return True
        return False


@require_http_methods(["GET", "HEAD", "POST"])
@in_own_language
def lunchbox(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show the box of `?day=`, and change it."""
    child = get_object_or_404(children_for(request), pk=pk)
    site = child.site
    if site is None:
        raise Http404("This child is not enrolled at any site.")
    day = _day(request, child.today)
    bench = _Bench(request, child, site, day)
    if request.method == "POST":
        if not child.today <= day <= child.today + AHEAD:
            raise Http404("Boxes are put together for today and the coming four weeks.")
        if told := bench.act():
            messages.success(request, told)
            return redirect(f"{reverse('lunchbox', args=[pk])}?day={day.isoformat()}")
    return render(request, "lunchbox/box.html", _context(request, bench))


def _context(request: SignedInRequest, bench: _Bench) -> dict[str, Any]:
    box = bench.box if bench.is_open else None
    answer = judge_box(
        bench.child,
        bench.site,
        bench.day,
        bench.packed,
        packed_at=box.packed_at if box else None,
        eaten_at=box.eaten_at if box else None,
        at_temperature=bool(box and box.kept_at_temperature),
    )
    query = request.GET.get("q", "").strip()
    return shown_to_guardian(
        child=bench.child,
        site=bench.site,
        as_of=answer.as_of,
        day=bench.day,
        box=bench.box,
        may_change=bench.child.today <= bench.day <= bench.child.today + AHEAD,
        answer=answer,
        shown=[_shown(number, food) for number, food in enumerate(answer.foods, start=1)],
        together=[(said_of(each), each.words) for each in answer.together],
        rules=rules_say(answer),
        texture=texture_says(answer.texture) if answer.texture else "",
        kept=keeping_says(answer.keeping),
        protein=protein_says(answer.protein),
        household=bench.household,
        own=bench.own,
        times=bench.times_form,
        copy=bench.copy,
        query=query,
        matches=_matches(bench.site, query),
        stale=request.session.pop("lunchbox", ""),
    )


def _shown(number: int, food: JudgedFood) -> Shown:
    gravest: dict[tuple[str, str], Cause] = {}  # of each substance once: the first is the gravest
    for cause in food.causes:
        gravest.setdefault((cause.because, cause.substance), cause)
    causes = tuple((said_of(cause), cause.words) for cause in gravest.values())
    return Shown(number, food_name(food.packed), shape_name(food.packed), food, causes)


def _matches(site: Site, query: str) -> list[Product]:
    """What the kitchens of the service have on record; treats that others brought are nobody's to find here."""
    if len(query) < 2:
        return []
    return list(Product.objects.used_at([site]).for_kitchen().matching(query)[:MATCHES])


def _day(request: SignedInRequest, today: date) -> date:
    """The day asked for, else today; 404 for what is no day."""
    asked = request.GET.get("day", "")
    if not asked:
        return today
    try:
        return datetime.strptime(asked, "%Y-%m-%d").date()  # noqa: DTZ007  (a day has no clock)
    except ValueError as error:
        raise Http404("This is no day of the calendar.") from error


def _number(typed: str) -> int:
    return int(typed) if typed.isdecimal() and typed.isascii() and len(typed) < 19 else 0


urls = [path("lunchboxes/<int:pk>/", lunchbox, name="lunchbox")]
