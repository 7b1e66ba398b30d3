"""The form of one entry of a site's calendar: days on which meals are not served."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.web.exceptions_form import Day
from compliance.web.stale import Parts
from menus.models import Closure, Meal, Site

HERE, EVERYWHERE = "here", "everywhere"


class ClosureForm(forms.Form):
    """Days, the meals that are not served, and why. Only who administers all sites is asked where."""

    first_day = Day(label="First day without these meals")
    last_day = Day(label="Last day", required=False, help_text="Empty: that one day.")
    meals = forms.MultipleChoiceField(
        label="Not served",
        choices=Meal.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text="All ticked: a day without meals. On a half day, tick only what is left out.",
        error_messages={"required": "Tick at least one meal that is not served."},
    )
    reason = forms.CharField(
        label="Why",
        max_length=120,
        help_text="As people call it: winter break, staff training. Everybody who sees the menu reads it; name nobody.",
        error_messages={"required": "Say why, as people call it: winter break."},
    )
    where = forms.ChoiceField(label="Where", widget=forms.RadioSelect)

    def __init__(self, data: Any, *, site: Site, everywhere: bool, closure: Closure | None = None) -> None:
        self.site = site
        initial: dict[str, Any] = {"meals": list(Meal.values), "where": HERE}
        if closure:
            initial = {name: getattr(closure, name) for name in ("first_day", "last_day", "meals", "reason")}
            initial["where"] = HERE if closure.site_id else EVERYWHERE
        super().__init__(data, label_suffix="", initial=initial)
        where = self.fields["where"]
        assert isinstance(where, forms.ChoiceField)
        where.choices = [(HERE, f"{site} only"), (EVERYWHERE, "All sites")]
        if not everywhere:
            del self.fields["where"]

    def clean(self) -> dict[str, Any]:
        """One day is a closure of that day alone; the last never lies before the first."""
        typed = super().clean() or {}
        first, last = typed.get("first_day"), typed.get("last_day")
        if first and not last and "last_day" not in self.errors:
            typed["last_day"] = first
        if first and last and last < first:
            self.add_error("last_day", f"{last} lies before the first day, {first}. Which of them is meant?")
        return typed

    def said(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        typed = {name: self.cleaned_data[name] for name in ("first_day", "last_day", "meals", "reason")}
        return typed | {"site": None if self.cleaned_data.get("where") == EVERYWHERE else self.site}

    def take(self, error: ValidationError) -> None:
        """Put what the service refused beside the field that it is about."""
        for name, several in (error.message_dict if hasattr(error, "error_dict") else {}).items():
            self.add_error(name if name in self.fields else None, ValidationError(several))
        if not hasattr(error, "error_dict"):
            self.add_error(None, ValidationError(error.messages))

    def parts(self) -> Parts:
        """What was typed, in words, beside a version that somebody else recorded."""
        return parts_of(Closure(**self.said()))


def parts_of(closure: Closure) -> Parts:
    """Return what an entry of the calendar says, in the words of the form."""
    if closure.withdrawn:
        return (("Meals", "served after all"),)
    return (
        ("Days", _days(closure.first_day, closure.last_day)),
        ("Not served", ", ".join(Meal(meal).label.lower() for meal in closure.meals)),
        ("Why", closure.reason),
        ("Where", str(closure.site or "All sites")),
    )


def _days(first: date, last: date) -> str:
    return f"{first}" if first == last else f"{first} to {last}"
