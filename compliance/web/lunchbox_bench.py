"""A child's lunchbox of one day while it is put together: its forms, and what its buttons do."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext

from compliance.web.lunchbox_form import CopyForm, HouseholdForm, OwnFoodForm, TimesForm
from compliance.web.lunchbox_said import food_name
from compliance.web.numbers import row_number
from compliance.web.signed_in import SignedInRequest
from menus.models import Product
from roster.life.lunchbox import MOST_ITEMS, Packed, box_of, packed_of, save_box
from roster.life.stale import Stale
from roster.life.texture import textures_of
from roster.models import Child, Classroom, LunchBox


class Bench:
    """The box of one child on one day while it is put together: its forms, and what saves a version."""

    def __init__(self, request: SignedInRequest, child: Child, room: Classroom, day: date) -> None:
        self.request, self.child, self.room, self.day = request, child, room, day
        self.told = ""
        self.box = box_of(child, day)
        self.is_open = self.box is not None and not self.box.withdrawn
        self.packed = packed_of(self.box.items.select_related("product")) if self.box and self.is_open else []
        self.textured = bool(textures_of([child], timezone.now()))
        self.household = HouseholdForm(self._sent("household"), textured=self.textured, today=child.today)
        self.own = OwnFoodForm(self._sent("own"), site=room.site, textured=self.textured, today=child.today)
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
        known = Product.objects.used_at([self.room.site]).for_kitchen()
        product = get_object_or_404(known, pk=row_number(self.request.POST.get("product", "")))
        told = gettext("Put in: %(food)s.") % {"food": product.name}
        return told if self._save(self.own, [*self.packed, Packed(product.name, product=product)]) else ""

    def _remove(self) -> str:
        place = row_number(self.request.POST.get("number", ""))
        kept = [each for at, each in enumerate(self.packed, start=1) if at != place]
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
        if len(items) > MOST_ITEMS:
            full = gettext("A box holds at most %(most)s foods. Take one out first.") % {"most": MOST_ITEMS}
            return self._refused(form, full)
        seen = LunchBox.objects.filter(
            child=self.child, day=self.day, pk=row_number(self.request.POST.get("under", ""))
        )
        kept = {name: getattr(self.box, name) for name in self.times} if self.box and self.is_open else {}
        asked = {"day": self.day, "replaces": seen.first(), **kept, **more}
        try:
            save_box(child=self.child, items=items, by=self.request.user, **asked)
        except Stale:
            stale = gettext("Somebody changed this box meanwhile, and nothing was saved. It stands here as it is now.")
            return self._refused(form, stale)
        except ValidationError as error:
            return self._refused(form, *error.messages)
        return True

    def _refused(self, form: forms.Form, *told: str) -> bool:
        """Say why nothing was saved: on the form that was sent, or at the head of the page for a mere button."""
        if form.is_bound:
            form.add_error(None, ValidationError(list(told)))
        else:
            self.told = " ".join(told)
        return False
