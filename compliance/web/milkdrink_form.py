"""What the page on drinks in place of milk asks for: the label of a drink, and whose request it is about."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from compliance.web.exceptions_form import Day
from menus.mealpattern.milk_requests import Drink, Need, Request, request
from menus.mealpattern.milk_substitute import ML_PER_CUP, Comparison, compare, table

PROGRAMS = [
    ("nslp-lunch", "School lunch"),
    ("sbp-breakfast", "School breakfast"),
    ("nslp-snack", "Afterschool snack"),
    ("cacfp-breakfast", "Child care breakfast"),
    ("cacfp-lunch", "Child care lunch"),
    ("cacfp-supper", "Child care supper"),
    ("cacfp-snack", "Child care snack"),
]
NEEDS = [
    (Need.DISABILITY.value, "A disability, such as a food allergy"),
    (Need.PREFERENCE.value, "Another reason of the family"),
    (Need.OFFERED_TO_ALL.value, "It is offered to every child"),
]
MOST = Decimal(10_000)
"""More than any drink holds of anything listed, in the unit asked for: a slip of the key."""


class MilkDrinkForm(forms.Form):
    """A drink's label per serving. A nutrient left empty is not stated, and never taken for nothing."""

    program = forms.ChoiceField(label="Meal", choices=PROGRAMS)
    day = Day(label="Served on")
    need = forms.ChoiceField(label="Why another drink is served", choices=NEEDS)
    lactose_free = forms.BooleanField(label="It is cow's milk without lactose", required=False)
    serving_ml = forms.DecimalField(
        label="Serving on the label, in ml",
        min_value=Decimal(1),
        max_value=Decimal(2_000),
        help_text="A cup is 240 ml on labels.",
    )

    def __init__(self, asked: QueryDict, *, today: date) -> None:
        data = asked.copy()
        data.setdefault("day", today.isoformat())
        data.setdefault("serving_ml", str(ML_PER_CUP))
        for name, first in (("program", PROGRAMS[0][0]), ("need", NEEDS[0][0])):
            data.setdefault(name, first)
        super().__init__(data, label_suffix="")
        for name, label in _nutrients().items():
            self.fields[name] = forms.DecimalField(label=label, required=False, min_value=0, max_value=MOST)

    @property
    def about(self) -> list[forms.BoundField]:
        """What is served when, and why."""
        return [self[name] for name in ("program", "day", "need", "lactose_free")]

    @property
    def label(self) -> list[forms.BoundField]:
        """What stands on the label."""
        return [self[name] for name in ("serving_ml", *_nutrients())]

    def clean(self) -> dict[str, Any]:
        """Refuse a vitamin in two units: nobody could tell which of them the label means."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for row in table():
            older = row["older_nutrient"]
            if older and data.get(row["nutrient"]) is not None and data.get(older) is not None:
                self.add_error(
                    older, ValidationError("This stands in two units. Keep the one on the label, clear the other.")
                )
        return data

    def comparison(self) -> Comparison:
        """Hold the label against the regulation's table; the form is valid."""
        stated: Mapping[str, Fraction | None] = {
            name: None if (value := self.cleaned_data[name]) is None else Fraction(value) for name in _nutrients()
        }
        return compare(stated, serving_ml=Fraction(self.cleaned_data["serving_ml"]))

    def request(self, compared: Comparison) -> Request | None:
        """Return who asks and signs for such a drink at that meal on that day."""
        asked = self.cleaned_data
        drink = Drink.EQUIVALENT if compared.equivalent else Drink.NOT_EQUIVALENT
        if asked["lactose_free"]:
            drink = Drink.LACTOSE_FREE_MILK
        return request(asked["program"], Need(asked["need"]), drink, asked["day"])


def _nutrients() -> dict[str, str]:
    """Each nutrient of the table with its unit, the older units of labels beside the newer."""
    names: dict[str, str] = {}
    for row in table():
        what = row["what"][0].upper() + row["what"][1:]
        names[row["nutrient"]] = f"{what}, {row['unit']}"
        if row["older_nutrient"]:
            names[row["older_nutrient"]] = f"{what}, {row['older_unit']}"
    return names
