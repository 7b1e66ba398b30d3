"""The form of a dish on hand, and that of the day on which it is on hand for the last time."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q, QuerySet

from compliance.web.exceptions_form import Day
from menus.models import Meal, Recipe, RecipeVersion, Site
from menus.models.alternative import Counted


def dishes_of(site: Site) -> QuerySet[Recipe]:
    """Return the recipes that the site may cook and that have something in them."""
    cooked = RecipeVersion.objects.order_by().values("recipe")
    return Recipe.objects.filter(Q(site=None) | Q(site=site), pk__in=cooked)


class OnHandForm(forms.Form):
    """A dish that can be prepared beside the menu. What a drink stands for is asked of licensed staff alone."""

    recipe = forms.ModelChoiceField(
        label="Dish",
        queryset=Recipe.objects.none(),
        empty_label="Choose a dish",
        error_messages={"required": "Choose the dish that is on hand."},
    )
    meals = forms.MultipleChoiceField(
        label="For",
        choices=Meal.choices,
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="The meals that it suits. None ticked: any meal.",
    )
    starts_on = Day(label="On hand from")
    ends_on = Day(label="Last day", required=False, help_text="Empty: until somebody ends it.")
    portions = forms.IntegerField(
        label="Portions",
        required=False,
        min_value=0,
        help_text="Empty: as many as are wanted.",
    )
    counted = forms.ChoiceField(
        label="These portions are counted",
        choices=Counted.choices,
        initial=Counted.WEEK,
        required=False,
        help_text="In all: for a stock that is not filled up. What plans give out on other days is taken off.",
    )
    cost = forms.DecimalField(
        label="Cost of a portion",
        required=False,
        min_value=Decimal(0),
        max_digits=6,
        decimal_places=2,
        help_text="Counts last, between choices that are alike in all else. Empty: not counted.",
    )
    milk_cups = forms.DecimalField(
        label="Stands for so many cups of milk",
        required=False,
        min_value=Decimal("0.001"),
        max_digits=4,
        decimal_places=3,
        help_text="Only for a drink that was held against the milk table, and whose request is signed where one is "
        "wanted. Empty: what its recipe credits.",
    )
    note = forms.CharField(
        label="Note for the kitchen",
        required=False,
        max_length=120,
        help_text="Where it is kept, how long it takes. Name no child.",
    )

    def __init__(self, data: Any, *, site: Site, today: date, is_licensed: bool) -> None:
        super().__init__(data, label_suffix="", initial={"starts_on": today.isoformat()})
        field = self.fields["recipe"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = dishes_of(site)
        if not is_licensed:
            del self.fields["milk_cups"]

    def clean_counted(self) -> str:
        """Return over which days the portions are counted; by the week where nothing was said."""
        return self.cleaned_data["counted"] or Counted.WEEK.value


class EndForm(forms.Form):
    """The last day of a dish on hand."""

    last_day = Day(label="Last day on hand")
