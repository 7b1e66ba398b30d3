"""The form that takes what a kitchen knows of a product beside its label."""

from __future__ import annotations

from django import forms

from menus.models.product import Regulator
from menus.models.site import Jurisdiction


class ProductForm(forms.Form):
    """What a kitchen knows of a product beside its label."""

    gtin = forms.CharField(
        label="Number under the bars (GTIN)",
        help_text="Empty when the package has none.",
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
    name = forms.CharField(
        label="Name of the product",
        max_length=160,
        error_messages={"required": "Give the product a name, as the kitchen calls it, so that recipes can name it."},
    )
    supplier = forms.CharField(
        label="Supplier", required=False, max_length=120, widget=forms.TextInput(attrs={"list": "suppliers"})
    )
    code = forms.CharField(
        label="The kitchen's own item number",
        help_text="Imports find the product by it. Empty: the number under the bars.",
        required=False,
        max_length=40,
    )
    regulator = forms.ChoiceField(
        label="Whose labelling rules it falls under", choices=Regulator.choices, required=False
    )
    jurisdiction = forms.ChoiceField(
        label="Country of its label", choices=[("", "The site's"), *Jurisdiction.choices], required=False
    )
    ready_to_eat = forms.BooleanField(label="It can be handed out as it comes", required=False)
