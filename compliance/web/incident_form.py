"""The forms that open an incident and add to it: few fields, since somebody types them with a child at hand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from compliance.models import Incident
from menus.models import Site
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance

TALL = {"rows": 3}


@dataclass(frozen=True, slots=True)
class Suspected:
    """Foods that somebody takes for the cause: those on record by code, and words that name nothing on record."""

    codes: tuple[str, ...]
    unknown: tuple[str, ...]


class IncidentForm(forms.Form):
    """What was seen. All but that and its time may come later, as a note."""

    kind = forms.ChoiceField(
        label="What it is about",
        choices=Incident.Kind.choices,
        initial=Incident.Kind.REACTION,
        widget=forms.RadioSelect,
    )
    seen = forms.CharField(
        label="What you saw, in your own words",
        help_text="What, when, where. What you saw, not what you take it for.",
        widget=forms.Textarea(attrs=TALL),
        error_messages={"required": "Write in a few words what you saw. More can be added later."},
    )
    noticed_at = forms.DateTimeField(
        label="When it was noticed",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        error_messages={"required": "Give a day and a time.", "invalid": "Give a day and a time, as 2026-01-31 12:20."},
    )
    food = forms.CharField(
        label="What the child had eaten or touched", help_text="As far as you know.", max_length=200, required=False
    )
    given_by = forms.CharField(
        label="Where it came from, and who handed it out",
        help_text="As far as you know.",
        max_length=200,
        required=False,
    )
    suspected = forms.CharField(
        label="Foods that may be the cause, one a line",
        help_text=(
            "They are kept from this child from now on, until licensed staff have looked. If you leave this empty "
            "after a reaction, nothing is served to this child until licensed staff have said what may be."
        ),
        required=False,
        widget=forms.Textarea(attrs=TALL),
    )

    def __init__(self, data: Any, *, site: Site) -> None:
        self.site = site
        now = timezone.now().astimezone(site.zone).replace(second=0, microsecond=0, tzinfo=None)
        super().__init__(data, label_suffix="", initial={"noticed_at": now})

    def clean_noticed_at(self) -> datetime:
        """Take the moment on the site's clock; refuse one to come."""
        at: datetime = self.cleaned_data["noticed_at"].replace(tzinfo=self.site.zone)
        if at > timezone.now():
            raise ValidationError("This moment is still to come. Give the time at which it was noticed.")
        return at

    def clean_suspected(self) -> Suspected:
        """Sort the lines. A word that names nothing on record is no error here: it makes the child's case unknown."""
        codes, unknown = [], []
        for line in filter(None, map(str.strip, self.cleaned_data["suspected"].splitlines())):
            try:
                codes.append(Catalogue.load().resolve(line).code)
            except UnknownSubstance:
                unknown.append(line)
        return Suspected(tuple(dict.fromkeys(codes)), tuple(unknown))


class NoteForm(forms.Form):
    """One thing to add. Closing is offered to licensed staff alone."""

    text = forms.CharField(
        label="What is to be added",
        widget=forms.Textarea(attrs=TALL),
        error_messages={"required": "Write what is to be added."},
    )
    closes = forms.BooleanField(
        label="We have looked at it: close the incident",
        help_text="It stays readable, and takes notes. It ends no restriction: that is done on the child's page.",
        required=False,
    )

    def __init__(self, data: Any, *, may_close: bool) -> None:
        super().__init__(data, label_suffix="")
        if not may_close:
            del self.fields["closes"]
