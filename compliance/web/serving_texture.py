"""State the level of texture that a dish is made to, as all have it: a new version of its recipe."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import path
from django.views.decorators.http import require_POST

from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from menus.mealpattern.textures import DRINK, FOOD, levels
from menus.models import Recipe, RecipeVersion, Serving
from menus.services.recipes import state_texture


class StateForm(forms.Form):
    """The level as made, and the version of the recipe that the page was opened on."""

    texture = forms.TypedChoiceField(label="Level as made, for all", coerce=int, empty_value=None, required=False)
    seen = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]  # as a form takes them
        field = self.fields["texture"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "Not stated"), *((number, _named(number)) for number in range(8))]


def state_form(recipe: Recipe) -> StateForm | None:
    """Return the form as the recipe stands, or None for one without a version. One query."""
    newest = RecipeVersion.objects.filter(recipe=recipe).order_by("-number").first()
    return StateForm(initial={"texture": newest.texture, "seen": newest.number}) if newest else None


@require_POST
def serving_texture(request: SignedInRequest, pk: int) -> HttpResponse:
    """Keep what is stated, and go back to the dish. 404 for another site's."""
    serving = get_object_or_404(Serving.objects.select_related("recipe"), pk=pk, site__in=sites_for(request))
    form = StateForm(request.POST)
    try:
        if not form.is_valid():
            raise ValidationError("Choose a level from the list, or “Not stated”.")
        state_texture(recipe=serving.recipe, **form.cleaned_data)
    except ValidationError as error:
        messages.error(request, "Nothing was recorded. " + " ".join(error.messages))
    else:
        messages.success(request, f"On record as a new version of {serving.recipe}, wherever it is cooked.")
    return redirect("serving", pk=serving.pk)


def _named(number: int) -> str:
    words = [f"{of}: {levels(of)[number].words}" for of in (FOOD, DRINK) if number in levels(of)]
    return f"{number} ({'; '.join(words)})"


urls = [path("servings/<int:pk>/texture/", serving_texture, name="serving-texture")]
