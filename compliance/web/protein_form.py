"""What the page on protein asks for: foods with their grams, and the age of the youngest who eats."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from compliance.web.fields import offer_choices
from menus.mealpattern.aminos import DEFAULT, Reference, foods, reference_for
from menus.mealpattern.protein import Part, part

ROWS = 6
MOST = Decimal(2_000)
"""Grams of one food: more than anybody eats at a meal."""
AGES = [
    ("", "not known: the pattern that asks for most"),
    ("6", "6 months to under 3 years"),
    ("36", "3 years or over"),
]
STANDARDS = [
    (DEFAULT, "FAO 2013"),
    ("fao-1991", "FAO/WHO 1991"),
    ("who-2007", "WHO/FAO/UNU 2007"),
    ("iom-2005", "IOM 2005"),
]


class ProteinForm(forms.Form):
    """Foods whose amino acids are known, each with grams as eaten, and what they are held against."""

    age = forms.ChoiceField(label="Youngest at the table", choices=AGES, required=False)
    standard = forms.ChoiceField(label="Pattern of", choices=STANDARDS)

    def __init__(self, asked: QueryDict) -> None:
        data = asked.copy()
        data.setdefault("age", "36")
        data.setdefault("standard", DEFAULT)
        super().__init__(data, label_suffix="")
        for number in range(1, ROWS + 1):
            self.fields[f"food_{number}"] = forms.ChoiceField(label=f"Food {number}", required=False)
            offer_choices(self, f"food_{number}", [("", "–"), *((name, name) for name in sorted(foods()))])
            self.fields[f"grams_{number}"] = forms.DecimalField(
                label=f"Grams {number}", required=False, min_value=Decimal("0.1"), max_value=MOST
            )

    @property
    def pairs(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """Each food with its grams, for the page."""
        return [(self[f"food_{number}"], self[f"grams_{number}"]) for number in range(1, ROWS + 1)]

    @property
    def about(self) -> list[forms.BoundField]:
        """What the foods are held against."""
        return [self["age"], self["standard"]]

    def clean(self) -> dict[str, Any]:
        """Refuse half a row, and nothing at all; a pattern that has no figures for the age is named."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for number in range(1, ROWS + 1):
            food, grams = f"food_{number}", f"grams_{number}"
            if data.get(food) and grams in data and data[grams] is None:
                self.add_error(grams, "Say how many grams of it are eaten.")
            if data.get(grams) and food in data and not data[food]:
                self.add_error(food, "Say which food these grams are.")
        if not self.errors and not self._eaten(data):
            raise ValidationError("Choose at least one food, and how many grams of it are eaten.")
        if not self.errors and self._reference(data) is None:
            self.add_error("standard", "This pattern has no figures for that age. Choose the one of FAO 2013.")
        return data

    def parts(self) -> list[Part]:
        """Return the protein of each food; the form is valid."""
        return [part(foods()[name], Fraction(grams)) for name, grams in self._eaten(self.cleaned_data)]

    def reference(self) -> Reference:
        """Return what they are held against; the form is valid."""
        found = self._reference(self.cleaned_data)
        assert found is not None  # clean has looked
        return found

    @staticmethod
    def _eaten(data: dict[str, Any]) -> list[tuple[str, Decimal]]:
        rows = [(data.get(f"food_{number}"), data.get(f"grams_{number}")) for number in range(1, ROWS + 1)]
        return [(name, grams) for name, grams in rows if name and grams]

    @staticmethod
    def _reference(data: dict[str, Any]) -> Reference | None:
        return reference_for(int(data["age"]) if data.get("age") else None, data["standard"])
