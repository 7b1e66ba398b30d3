"""The form that takes what a package says."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from menus.labels.supplied.faults import faults
from menus.labels.supplied.rows import written_alike
from menus.models import Site
from menus.services.labels import TEXTS


class LabelField(forms.CharField):
    """A part of a label. It has no maxlength: a browser would cut the end off a longer paste without a word."""

    def __init__(self, *, rows: int = 2, **kwargs: Any) -> None:
        super().__init__(required=False, widget=forms.Textarea(attrs={"rows": rows}), **kwargs)

    def to_python(self, value: Any) -> str:
        """Lines end as they are stored, so that spans point at the same characters everywhere."""
        return str(super().to_python(value)).replace("\r\n", "\n")


class LabelForm(forms.Form):
    """What the package says, word for word."""

    ingredients = LabelField(
        label="Type or paste the label",
        help_text="The ingredient list and all that follows it: “contains”, “may contain”, “made in a facility”.",
        rows=8,
    )
    contains = LabelField(label="“Contains” line, if it stands apart")
    precautionary = LabelField(label="“May contain”, shared line, shared facility, if they stand apart")
    claims = LabelField(
        label="Claims on the front", help_text="Such as “non-dairy”. Kept and shown; they change no outcome."
    )
    supplied = LabelField(
        label="Supplier's allergen codes",
        help_text="GS1 codes from the supplier's data, one a line: AM CONTAINS, AP MAY_CONTAIN. They are on no "
        "package, add to what it says, and never stand for its ingredient list.",
    )
    seen_on = forms.DateField(
        label="Read from the package on",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "Give the day on which somebody read the package, as 2026-01-31."},
    )

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        self.today = timezone.now().astimezone(site.zone).date()
        self.fields["seen_on"].initial = self.today

    def clean_seen_on(self) -> date:
        """Refuse a day to come."""
        seen_on: date = self.cleaned_data["seen_on"]
        if seen_on > self.today:
            raise ValidationError(f"{seen_on} is still to come. Give the day on which somebody read the package.")
        return seen_on

    def clean_supplied(self) -> str | None:
        """Write the codes alike; a page that does not ask for them leaves those on record as they are."""
        if self.add_prefix("supplied") not in self.data:
            return None
        typed: str = self.cleaned_data["supplied"]
        grave = [str(fault) for fault in faults(typed) if fault.is_grave]
        if grave:
            raise ValidationError(grave)
        return written_alike(typed)

    def clean(self) -> dict[str, Any]:
        """Refuse codes alone where a label is on record: they would take the place of its words."""
        typed: dict[str, Any] = self.cleaned_data
        words = any(typed.get(part, "").strip() for part in TEXTS if part != "supplied")
        if typed.get("supplied") and not words and "supplied" in self.initial:
            raise ValidationError(
                "The supplier's codes alone would take the place of the words on record. Type what the package says "
                "too, or start from the words on record.",
                code="codes-alone",
            )
        return typed

    def texts(self) -> dict[str, str]:
        """What was typed, by part, whether or not the form as a whole is valid."""
        return {part: self.data.get(self.add_prefix(part), "").replace("\r\n", "\n") for part in TEXTS}
