"""Check a treat: the question, and the search for a food seen before."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.api.limits import SearchLimit, TreatLimit
from compliance.checks.treatfood import FoodWanted, LabelWanted, Said, check_said
from compliance.models import TreatCheck
from compliance.web.classrooms import Room, room_of
from compliance.web.limits import limited
from compliance.web.photos_form import PhotoForm, with_photos
from compliance.web.signed_in import SignedInRequest
from compliance.web.table import table_of
from compliance.web.treat_form import TreatForm
from menus.models import Product, Site
from roster.models import Classroom, User

MATCHES = 8
RECENT = 4


@dataclass(frozen=True, slots=True)
class Unnamed:
    """Why a food cannot be checked yet, and what the page asks for next."""

    wanted: str  # "label" | "choice" | "anything"
    product: Product | None = None


@require_http_methods(["GET", "HEAD", "POST"])
@limited(TreatLimit)
def treat(request: SignedInRequest) -> HttpResponse:
    """Ask what the food is; once it is known, check it and go to the answer."""
    room = room_of(request)
    photos = PhotoForm(request, site=room.site)
    form = _form(request, room.site, photos)
    wanted: Unnamed | None = None
    if form.is_bound and form.is_valid() and photos.is_confirmed(_words_to_check(form.cleaned_data)):
        try:
            answer = _answer(request.user, room.classroom, form.cleaned_data, photos)
        except ValidationError as error:
            form.add_error(None, error)
        else:
            if isinstance(answer, TreatCheck):
                return redirect("treat-result", answer.pk)
            wanted = answer
            if wanted.wanted == "label":
                form.ask_for_label(wanted.product)
    return render(request, "treat/treat.html", {**_page(room, form, wanted), "photos": photos})


@require_safe
@limited(SearchLimit)
def matches(request: SignedInRequest) -> HttpResponse:
    """Show the foods seen before that fit the words typed so far."""
    room = room_of(request)
    words = request.GET.get("words", "")
    return render(request, "treat/matches.html", {"words": words, "matches": find(room.site, words)})


def find(site: Site, words: str) -> list[Product]:
    """Return the products of the site that fit the words, each with its current label."""
    words = words.strip()
    if len(words) < 2:
        return []
    return list(Product.objects.used_at([site]).matching(words).with_label(timezone.now())[:MATCHES])


def _form(request: SignedInRequest, site: Site, photos: PhotoForm) -> TreatForm:
    """The form as sent; while photos are still being taken, as begun and not yet to be judged."""
    if photos.asks_for_photos:
        return TreatForm(site, None, begun=with_photos(request.POST, "text", photos))
    return TreatForm(site, request.POST if request.method == "POST" else None)


def _looks_for_a_name(data: dict[str, Any]) -> bool:
    """Whether a food is looked for by name: whatever else was typed is kept, and not checked."""
    return bool(data["by"] == "name" and not data["product"])


def _words_to_check(data: dict[str, Any]) -> str:
    return "" if _looks_for_a_name(data) else data["text"]


def _answer(user: User, classroom: Classroom, data: dict[str, Any], photos: PhotoForm) -> TreatCheck | Unnamed:
    """Check the food that was named, or say what is wanted to name it."""
    unnamed = Unnamed("choice" if data["words"].strip() else "anything")
    if _looks_for_a_name(data):
        return unnamed
    said = Said(**{name: data[name] for name in ("product", "gtin", "text", "name", "no_label", "home_made")})
    try:
        return check_said(user=user, classroom=classroom, served_at=data["served_at"], said=said, photos=photos.kept)
    except LabelWanted as wanted:
        return Unnamed("label", wanted.product)
    except FoodWanted:
        return unnamed


def _page(room: Room, form: TreatForm, wanted: Unnamed | None) -> dict[str, Any]:
    words = form.cleaned_data.get("words", "") if form.is_bound else form.initial.get("words", "")
    return {
        "room": room,
        "site": room.site,
        "form": form,
        "wanted": wanted,
        "words": words,
        "matches": find(room.site, words),
        "recent": _recent(room.classroom),
        "table": table_of(room.classroom, room.today),
    }


def _recent(classroom: Classroom) -> list[Product]:
    """Return what the class was last asked about, each food once."""
    checks = TreatCheck.objects.filter(classroom=classroom).select_related("label__product").order_by("-recorded_at")
    labels = [check.label for check in checks.exclude(label=None)[:20] if check.label]
    return list({label.product_id: label.product for label in labels}.values())[:RECENT]


urls = [
    path("treat/", treat, name="treat"),
    path("treat/matches/", matches, name="treat-matches"),
]
