"""What a cook says at the kitchen's day: what was done, to what, and when."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone

from compliance.web.fields import offer, offer_choices
from menus.kitchen.cleaning import method_names
from menus.models import Deed, PlanStep, Serving, Site, Surface
from menus.services.kitchen import Doing

LONGEST_WAIT = timedelta(hours=12)
"""How long a record may have waited for the connection."""


class RecordForm(forms.Form):
    """One tap: everything but a time typed by hand stands in hidden fields.

    `waited` is how many seconds the record waited on the tablet for the connection; `token` tells it from others.
    """

    kind = forms.ChoiceField(
        choices=[(deed.value, deed.label) for deed in Deed if deed not in (Deed.SWAP, Deed.LEFTOVER, Deed.UNDO)]
    )
    surface = forms.ModelChoiceField(Surface.objects.none(), required=False)
    other_surface = forms.ModelChoiceField(Surface.objects.none(), required=False)
    serving = forms.ModelChoiceField(Serving.objects.none(), required=False)
    step = forms.ModelChoiceField(PlanStep.objects.none(), required=False)
    method = forms.ChoiceField(required=False)
    at = forms.TimeField(
        required=False,
        error_messages={"invalid": "This is no time of day. Give it as hours and minutes, such as 09:30."},
    )
    waited = forms.FloatField(required=False, min_value=0, max_value=LONGEST_WAIT.total_seconds())
    token = forms.UUIDField(required=False)

    def __init__(self, site: Site, day: date, data: Any) -> None:
        super().__init__(data, label_suffix="")
        self.site, self.day = site, day
        offer(self, "surface", Surface.objects.filter(site=site))
        offer(self, "other_surface", Surface.objects.filter(site=site))
        offer(self, "serving", Serving.objects.filter(date=day))
        offer(self, "step", PlanStep.objects.filter(site=site))
        offer_choices(self, "method", list(method_names().items()))

    @property
    def doing(self) -> Doing:
        """What was done."""
        said = self.cleaned_data
        return Doing(
            Deed(said["kind"]),
            surface=said["surface"],
            other_surface=said["other_surface"],
            serving=said["serving"],
            step=said["step"],
            method=said["method"],
        )

    @property
    def happened_at(self) -> datetime:
        """When it was done: the time typed, or when the button was touched."""
        return happened_at(self.site, self.day, self.cleaned_data)


def happened_at(site: Site, day: date, said: dict[str, Any]) -> datetime:
    """Return the moment that was typed, or else now less the time that the record waited for the connection."""
    if said.get("at"):
        return datetime.combine(day, said["at"], site.zone)
    return timezone.now() - timedelta(seconds=said.get("waited") or 0)


class UndoForm(forms.Form):
    """A record taken back: within a minute by a tap, later with a word why."""

    note = forms.CharField(required=False, max_length=200)
    token = forms.UUIDField(required=False)
