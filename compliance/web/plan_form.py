"""The form that says where a child's emergency plan is kept."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms

from compliance.web.version_form import DayInput, VersionForm
from roster.models import EmergencyPlan

USUAL_TERM = timedelta(days=365)


class PlanForm(VersionForm):
    """A pointer, typed by licensed staff."""

    plan_place = forms.CharField(
        label="Where the plan is kept",
        help_text="So that a stranger finds it: red binder, front office. No drug, no dose, no condition.",
        max_length=200,
        required=False,
    )
    medication_place = forms.CharField(
        label="Where its medication is kept",
        help_text="Cabinet by the sink, unlocked in school hours; no drug, no dose. Leave it empty if none is kept.",
        max_length=200,
        required=False,
    )
    carried = forms.BooleanField(label="The child carries it too", required=False)
    call = forms.CharField(
        label="Who is called, and where their numbers are",
        help_text="By role, in order: mother, then grandfather; the numbers stand on the plan. No number here.",
        max_length=200,
        required=False,
    )
    dated = forms.DateField(label="Date on the plan", required=False, widget=DayInput)
    review_on = forms.DateField(
        label="To be renewed by",
        help_text="The plan is shown after that day too. Left empty, it is a year after the date on the plan.",
        required=False,
        widget=DayInput,
    )
    withdrawn = forms.BooleanField(label="No plan is kept for this child any more", required=False)

    def __init__(self, data: Any, *, today: date, newest: EmergencyPlan | None) -> None:
        self.today = today
        names = ("plan_place", "medication_place", "carried", "call", "dated", "review_on")
        shown = {name: getattr(newest, name) for name in names} if newest and not newest.withdrawn else {}
        super().__init__(data, label_suffix="", initial={**shown, "under": newest.pk if newest else None})

    def clean_dated(self) -> date | None:
        """Refuse a day to come."""
        return self.refuse_to_come(self.cleaned_data["dated"], "plan")

    def clean(self) -> dict[str, Any]:
        """A plan has a place and a date; no plan has neither."""
        typed: dict[str, Any] = self.cleaned_data
        if typed.get("withdrawn"):
            return typed
        if "plan_place" in typed and not typed["plan_place"]:
            self.add_error("plan_place", "Say where the plan is kept, so that a stranger finds it.")
        if "dated" in typed and not typed["dated"]:
            self.add_error("dated", "Give the date that stands on the plan, as 2026-01-31.")
        if typed.get("dated") and not typed.get("review_on"):
            typed["review_on"] = typed["dated"] + USUAL_TERM
        if typed.get("dated") and typed.get("review_on") and typed["review_on"] <= typed["dated"]:
            self.add_error("review_on", "The plan would run out before its own date. Give a later day.")
        return typed

    def said(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        typed = {name: value for name, value in self.cleaned_data.items() if name != "under"}
        if not typed["withdrawn"]:
            return typed
        return dict.fromkeys(("plan_place", "medication_place", "call"), "") | {"withdrawn": True}
