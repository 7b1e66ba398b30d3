"""What a cook says of one dish: which product was used instead, or which batch was left over."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.web.fields import offer
from compliance.web.kitchenday_form import LONGEST_WAIT, happened_at
from menus.models import Deed, Product, Serving, Site
from menus.services.kitchen import Doing


class DishForm(forms.Form):
    """What both records of a dish have: since when, and what tells one record from another."""

    at = forms.TimeField(
        label="Since when",
        required=False,
        widget=forms.TimeInput({"type": "time"}, "%H:%M"),
        help_text="Leave it empty for now.",
        error_messages={"invalid": "This is no time of day. Give it as hours and minutes, such as 09:30."},
    )
    waited = forms.FloatField(
        required=False, min_value=0, max_value=LONGEST_WAIT.total_seconds(), widget=forms.HiddenInput
    )
    token = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def __init__(self, kitchen: Site, serving: Serving, data: Any, auto_id: str) -> None:
        super().__init__(data, label_suffix="", auto_id=auto_id)
        self.kitchen, self.serving = kitchen, serving

    @property
    def happened_at(self) -> datetime:
        """The time typed on the day of the dish, or when the button was touched."""
        return happened_at(self.kitchen, self.serving.date, self.cleaned_data)


class SwapForm(DishForm):
    """One product in place of another."""

    product_out = forms.ModelChoiceField(
        Product.objects.none(),
        empty_label="Choose a product",
        label="What ran out",
        error_messages={"required": "Choose what ran out.", "invalid_choice": "This dish does not hold that product."},
    )
    product_in = forms.ModelChoiceField(
        Product.objects.none(),
        empty_label="Choose a product",
        label="What was used in its place",
        error_messages={
            "required": "Choose what was used in its place.",
            "invalid_choice": "That product is not on this kitchen's list. Add it to the products first.",
        },
    )
    whole = forms.BooleanField(label="No portion holds what ran out", required=False)

    field_order = ["product_out", "product_in", "whole", "at"]

    def __init__(self, kitchen: Site, serving: Serving, held: list[Product], data: Any) -> None:
        super().__init__(kitchen, serving, data, auto_id="swap-%s")
        offer(self, "product_out", Product.objects.filter(pk__in=[product.pk for product in held]))
        offer(self, "product_in", Product.objects.for_kitchen().used_at([kitchen]))

    def clean(self) -> dict[str, Any]:
        said = super().clean() or {}
        if said.get("product_in") and said.get("product_in") == said.get("product_out"):
            raise ValidationError("That is the same product. Choose what was used in its place.", code="same")
        return said

    @property
    def doing(self) -> Doing:
        """What was done."""
        said = self.cleaned_data
        return Doing(
            Deed.SWAP,
            serving=self.serving,
            product_out=said["product_out"],
            product_in=said["product_in"],
            whole=said["whole"],
        )


class LeftoverForm(DishForm):
    """An earlier batch that went into the dish."""

    batch = forms.ModelChoiceField(
        Serving.objects.none(),
        label="What was left over",
        error_messages={
            "required": "Choose what was left over.",
            "invalid_choice": "That was not cooked here in the days before. Choose one of the list.",
        },
    )

    field_order = ["batch", "at"]

    def __init__(self, kitchen: Site, serving: Serving, earlier: list[Serving], data: Any) -> None:
        super().__init__(kitchen, serving, data, auto_id="left-%s")
        field = offer(self, "batch", Serving.objects.filter(pk__in=[each.pk for each in earlier]))
        field.choices = [("", "Choose a batch"), *((each.pk, _named(each)) for each in earlier)]

    @property
    def doing(self) -> Doing:
        """What was done."""
        return Doing(Deed.LEFTOVER, serving=self.serving, batch=self.cleaned_data["batch"])


def _named(batch: Serving) -> str:
    return f"{batch.recipe}, {batch.get_meal_display().lower()} of {batch.date:%A %d %B}"
