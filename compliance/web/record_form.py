"""The form that says which entries of the record of actions somebody wants to read."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta, tzinfo
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from compliance.checks.recordsearch import Search, people_in
from compliance.web.exceptions_form import ANY, Day
from compliance.web.fields import offer_choices
from menus.models import Site
from roster.models import Verb

WINDOW = timedelta(days=6)
OF_NO_SITE = "What belongs to no site"


class RecordForm(forms.Form):
    """Days, place, what was done, by whom, about which child, to what."""

    first = Day(label="From")
    last = Day(label="To")
    chain = forms.TypedChoiceField(label="Site", coerce=int, empty_value=None, required=False)
    verb = forms.ChoiceField(label="What was done", choices=[ANY, *Verb.choices], required=False)
    person = forms.TypedChoiceField(label="By whom", coerce=int, empty_value=None, required=False)
    child = forms.IntegerField(
        label="Child number",
        min_value=1,
        max_value=2**62,
        required=False,
        help_text="As an entry has it: “about child 7”.",
        error_messages={"invalid": "This is no number. Give the one that stands in an entry, such as 7."},
    )
    subject = forms.CharField(
        label="To what", max_length=80, required=False, help_text="Such as “statement 7” or “post”."
    )

    def __init__(self, asked: QueryDict, *, chains: Mapping[int, Site | None], today: date, zone: tzinfo) -> None:
        data = asked.copy()
        data.setdefault("first", (today - WINDOW).isoformat())
        data.setdefault("last", today.isoformat())
        super().__init__(data, label_suffix="")
        self.zone = zone
        places = [(str(number), str(site or OF_NO_SITE)) for number, site in chains.items()]
        offer_choices(self, "chain", [ANY, *places])
        offer_choices(self, "person", [ANY, *((str(person.pk), str(person)) for person in people_in(list(chains)))])

    def clean(self) -> dict[str, Any]:
        """Refuse days in the wrong order."""
        first, last = self.cleaned_data.get("first"), self.cleaned_data.get("last")
        if first and last and last < first:
            raise ValidationError(f"The days run backwards: {first} to {last}. Swap them.")
        if last and last == date.max:
            raise ValidationError("That last day is too far ahead. Give one that people plan for.")
        return self.cleaned_data

    def search(self) -> Search:
        """What a valid form asks for."""
        return Search(zone=self.zone, **{name: value for name, value in self.cleaned_data.items() if value is not None})
