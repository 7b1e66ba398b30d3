"""The level of texture that a statement sets for a child: licensed staff record it, replace it, end it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from compliance.web.gates import children_for
from compliance.web.lunchbox_said import texture_says
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from menus.mealpattern.textures import DRINK, FOOD, levels
from roster.life.texture import StaleTexture, record_texture, texture_of
from roster.models import Child, TextureLevel

DAY = {"type": "date"}


class TextureForm(SignedForm):
    """What the statement says. `under` is the version that the page showed: a newer one is noticed."""

    field_order = ("food_level", "drink_level", "signatory", "signed_on", "review_on", "ended", "end_reason")
    food_level = forms.TypedChoiceField(
        label="Food", coerce=int, empty_value=None, required=False, choices=[("", "None set")]
    )
    drink_level = forms.TypedChoiceField(
        label="Drink", coerce=int, empty_value=None, required=False, choices=[("", "None set")]
    )
    signatory = forms.CharField(label="Who signed the statement, and as what", max_length=120, required=False)
    signed_on = forms.DateField(
        label="Date on the statement", required=False, widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d")
    )
    review_on = forms.DateField(
        label="To be renewed by",
        help_text="The level holds after that day too.",
        required=False,
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
    )
    ended = forms.BooleanField(label="No level is set for this child any more", required=False)
    end_reason = forms.CharField(label="Why it ends", required=False, widget=forms.Textarea({"rows": 3}))
    under = forms.IntegerField(required=False, widget=forms.HiddenInput)

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
        signed: date | None = self.cleaned_data["signed_on"]
        if signed and signed > self.today:
            raise ValidationError(f"{signed} is still to come. Give the date that stands on the statement.")
        return signed

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
    if request.method == "POST" and form.is_valid() and _tried(request, child, form):
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


def _tried(request: SignedInRequest, child: Child, form: TextureForm) -> bool:
    """Keep what the form says; what stands against it goes on the form."""
    seen = TextureLevel.objects.filter(child=child, pk=form.cleaned_data["under"] or 0).first()
    try:
        record_texture(child=child, recorded_by=request.user, replaces=seen, **form.said())
    except StaleTexture as error:
        form.add_error(None, ValidationError(error.messages))
        form.data = {**dict(form.data.items()), "under": str(error.newer.pk)}
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
    except PermissionDenied as error:
        raise Http404("This child is not yours to sign for.") from error
    else:
        return True
    return False


urls = [path("children/<int:pk>/texture/", child_texture, name="child-texture")]
