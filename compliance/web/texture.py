"""The level of texture that a statement sets for a child: licensed staff record it, replace it, end it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from compliance.checks.texturequestions import take_back_textures
from compliance.checks.texturesaid import texture_says
from compliance.web.gates import children_for
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from compliance.web.version_form import DayInput, VersionForm
from menus.mealpattern.textures import DRINK, FOOD, levels
from roster.life.texture import record_texture, texture_of
from roster.models import Child, TextureLevel


class TextureForm(VersionForm, SignedForm):
    """What the statement says, signed."""

    field_order = ("food_level", "drink_level", "signatory", "signed_on", "review_on", "ended", "end_reason")
    food_level = forms.TypedChoiceField(
        label="Food", coerce=int, empty_value=None, required=False, choices=[("", "None set")]
    )
    drink_level = forms.TypedChoiceField(
        label="Drink", coerce=int, empty_value=None, required=False, choices=[("", "None set")]
    )
    signatory = forms.CharField(label="Who signed the statement, and as what", max_length=120, required=False)
    signed_on = forms.DateField(label="Date on the statement", required=False, widget=DayInput)
    review_on = forms.DateField(
        label="To be renewed by",
        help_text="The level holds after that day too.",
        required=False,
        widget=DayInput,
    )
    ended = forms.BooleanField(label="No level is set for this child any more", required=False)
    end_reason = forms.CharField(label="Why it ends", required=False, widget=forms.Textarea({"rows": 3}))

    def __init__(self, request: SignedInRequest, *, newest: TextureLevel | None, today: date) -> None:
        shown = newest if newest and not newest.ended else None
        names = ("food_level", "drink_level", "signatory", "signed_on", "review_on")
        initial = {name: getattr(shown, name) for name in names} if shown else {}
        super().__init__(request, initial={**initial, "under": newest.pk if newest else None})
        self.today = today
        for name, of in (("food_level", FOOD), ("drink_level", DRINK)):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = [("", "None set"), *((number, level.named("en")) for number, level in levels(of).items())]

    def clean_signed_on(self) -> date | None:
        """Refuse a day to come."""
        return self.refuse_to_come(self.cleaned_data["signed_on"], "statement")

    def said(self) -> dict[str, Any]:
        """The fields of a version."""
        data = self.cleaned_data
        said = {name: data[name] for name in ("food_level", "drink_level", "signatory", "signed_on", "review_on")}
        if data["ended"]:
            said = {"food_level": None, "drink_level": None, "signatory": "", "signed_on": None, "review_on": None}
        reason = data["end_reason"] if data["ended"] else ""
        return {**said, "ended": data["ended"], "end_reason": reason, "signature": data["signature"]}


@require_http_methods(["GET", "HEAD", "POST"])
def child_texture(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show the level that stands, and take a new one, signed."""
    child = get_object_or_404(children_for(request), pk=pk)
    site = child.site
    if site is None:
        raise Http404("This child is not enrolled at any site.")
    newest = texture_of(child)
    form = TextureForm(request, newest=newest, today=timezone.now().astimezone(site.zone).date())
    if request.method == "POST" and form.is_valid() and _kept(request, child, form):
        take_back_textures([child])
        messages.success(request, "On record. Whoever hands food to the child sees it from now on.")
        return redirect("child", pk=child.pk)
    newest = texture_of(child)
    context = {
        "child": child,
        "site": site,
        "form": form,
        "newest": newest,
        "says": texture_says(newest) if newest and not newest.ended else "",
        "past": bool(newest and newest.is_past(child.today)),
        "sources": {level.source: level.verified for of in (FOOD, DRINK) for level in levels(of).values()},
    }
    return render(request, "texture/texture.html", context)


def _kept(request: SignedInRequest, child: Child, form: TextureForm) -> bool:
    """Keep what the form says; what stands against it goes on the form."""
    seen = TextureLevel.objects.filter(child=child, pk=form.cleaned_data["under"] or 0).first()
    try:
        form.keep(lambda: record_texture(child=child, recorded_by=request.user, replaces=seen, **form.said()))
    except PermissionDenied as error:
        raise Http404("This child is not yours to sign for.") from error
    return not form.errors


urls = [path("children/<int:pk>/texture/", child_texture, name="child-texture")]
