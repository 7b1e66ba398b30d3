"""The form by which a meal of a site is put under a program's pattern."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.web.exceptions_form import Day
from menus.mealpattern.patterns.tables import Pattern, patterns
from menus.models import Meal, SitePattern


class PatternForm(forms.Form):
    """Which meal, which pattern, and from which day to which."""

    meal = forms.ChoiceField(label="Meal", choices=Meal.choices)
    pattern = forms.ChoiceField(
        label="Pattern it follows",
        help_text="The program and the age or grade group. It must be one of the meal chosen above.",
    )
    starts_on = Day(label="From")
    ends_on = Day(label="Last day", required=False, help_text="Empty: until another one begins.")

    def __init__(self, data: Any, *, today: date) -> None:
        super().__init__(data, label_suffix="", initial={"meal": Meal.LUNCH, "starts_on": today})
        field = self.fields["pattern"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(f"{each.program}/{each.group}", words_of(each)) for each in patterns().values()]

    def said(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        typed = self.cleaned_data
        program, _, group = typed["pattern"].partition("/")
        return {name: typed[name] for name in ("meal", "starts_on", "ends_on")} | {"program": program, "group": group}

    def take(self, error: ValidationError) -> None:
        """Put what the service refused beside the field that it is about."""
        for name, several in (error.message_dict if hasattr(error, "error_dict") else {}).items():
            field = "pattern" if name in ("program", "group") else name
            self.add_error(field if field in self.fields else None, ValidationError(several))
        if not hasattr(error, "error_dict"):
            self.add_error(None, ValidationError(error.messages))


def words_of(pattern: Pattern) -> str:
    """Return what people call a pattern, with the name that files give it."""
    return f"{pattern.title}, {pattern.group} ({pattern.program})"


def pattern_words(said: SitePattern) -> str:
    """Return the same of what a site said."""
    return words_of(said.pattern)
