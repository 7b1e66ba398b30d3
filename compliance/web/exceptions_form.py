"""The form that says which exceptions somebody wants to see or export."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import QueryDict

from compliance.checks.exceptions import ExceptionFilter
from compliance.models import RestrictionTypeRow
from compliance.rules.register import RULES
from compliance.rules.values import Outcome
from compliance.web.fields import offer, offer_choices
from menus.models import Site
from menus.substances.catalogue import Catalogue
from roster.models import Classroom

WINDOW = timedelta(days=13)
LONGEST = timedelta(days=366)
ANY = ("", "Any")


class Day(forms.DateField):
    """A day as browsers send it."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    default_error_messages = {
        "invalid": "This is no date. Give it as year, month and day: 2026-01-31.",
        "required": "Give a day, as 2026-01-31.",
    }


class ExceptionsForm(forms.Form):
    """Dates, place, outcome, substance and reason; an empty field means any."""

    first = Day(label="From")
    last = Day(label="To")
    site = forms.ModelChoiceField(Site.objects.none(), required=False, to_field_name="code", empty_label="All")
    classroom = forms.ModelChoiceField(Classroom.objects.none(), label="Class", required=False, empty_label="All")
    outcome = forms.ChoiceField(
        choices=[ANY, *((each.code, each.words) for each in (Outcome.WITHHOLD, Outcome.REFER))], required=False
    )
    substance = forms.ChoiceField(label="What is avoided", required=False)
    rule = forms.ChoiceField(
        label="Reason", choices=[ANY, *((rule.id, f"{rule.title} ({rule.id})") for rule in RULES)], required=False
    )

    def __init__(
        self, asked: QueryDict, *, sites: QuerySet[Site], classrooms: QuerySet[Classroom], today: date
    ) -> None:
        data = asked.copy()
        data.setdefault("first", today.isoformat())
        data.setdefault("last", (today + WINDOW).isoformat())
        super().__init__(data, label_suffix="")
        offer(self, "site", sites)
        offer(self, "classroom", classrooms)
        offer_choices(self, "substance", [ANY, *_substances()])

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order, and more of them than one page or file should hold."""
        first, last = self.cleaned_data.get("first"), self.cleaned_data.get("last")
        if first and last and last < first:
            raise ValidationError(f"The days run backwards: {first} to {last}. Swap them.")
        if first and last and last - first > LONGEST:
            raise ValidationError("That is more than a year. Ask for a shorter stretch at a time.")
        return self.cleaned_data

    def filter(self) -> ExceptionFilter:
        """What a valid form asks for."""
        asked = self.cleaned_data
        outcome = next((each for each in Outcome if each.code == asked["outcome"]), None)
        return ExceptionFilter(
            first=asked["first"],
            last=asked["last"],
            site=asked["site"],
            classroom=asked["classroom"],
            outcome=outcome,
            substance=asked["substance"],
            rule=asked["rule"],
        )


def _substances() -> list[tuple[str, str]]:
    """The substances that any restriction was ever checked for."""
    catalogue = Catalogue.load()
    codes = RestrictionTypeRow.objects.values_list("substance", flat=True).distinct()
    return sorted(((code, catalogue.get(code).name) for code in codes), key=lambda pair: pair[1])
