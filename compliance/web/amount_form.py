"""What the page on amounts asks for."""

from __future__ import annotations

from decimal import Decimal

from django import forms
from django.http import QueryDict

from compliance.web.fields import offer_choices
from menus.kitchen.dose import Basis, Estimate, doses, estimate
from menus.substances.catalogue import Catalogue

MOST = Decimal(1_000_000)
"""Parts per million, when all of it is the substance; grams, when a serving weighs a tonne."""


class AmountForm(forms.Form):
    """A supplier's figure and a serving."""

    substance = forms.ChoiceField(help_text="Those for which FAO/WHO name a reference dose.")
    ppm = forms.DecimalField(
        label="Supplier's figure, in mg/kg (ppm)",
        min_value=0,
        max_value=MOST,
        decimal_places=4,
        help_text="As the supplier gives it beside “may contain”.",
    )
    grams = forms.DecimalField(
        label="Serving, in grams", min_value=Decimal("0.1"), max_value=MOST, decimal_places=2, help_text="As served."
    )
    basis = forms.ChoiceField(
        label="The figure counts",
        choices=[
            (Basis.UNKNOWN.value, "Nobody says: count all of it as protein"),
            (Basis.PROTEIN.value, "Protein of it"),
            (Basis.FOOD.value, "The food itself, such as peanut"),
        ],
    )

    def __init__(self, data: QueryDict | None) -> None:
        super().__init__(data, label_suffix="")
        named = sorted((Catalogue.load().get(code).name, code) for code in doses())
        offer_choices(self, "substance", [(code, name) for name, code in named])

    def estimate(self) -> Estimate:
        """Work it out; the form is valid."""
        asked = self.cleaned_data
        return estimate(asked["substance"], asked["ppm"], asked["grams"], Basis(asked["basis"]))
