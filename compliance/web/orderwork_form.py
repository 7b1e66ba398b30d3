"""Which meal's order of work somebody asks about, and between which times it is to be done."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict

from compliance.web.exceptions_form import Day
from menus.models import Meal, Site
from menus.services.kitchen import FOLLOWED


class Clock(forms.TimeField):
    """A time of day as browsers send it."""

    widget = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
    default_error_messages = {"invalid": "This is no time. Give it as hours and minutes: 09:30."}


class OrderForm(forms.Form):
    """Day, meal, and the times between which the work is to be done; empty times mean those of the plan."""

    day = Day(label="Day")
    meal = forms.ChoiceField(label="Meal", choices=Meal.choices)
    start = Clock(label="Begin at the earliest", required=False)
    by = Clock(label="Be ready by", required=False)

    def __init__(self, asked: QueryDict, *, site: Site, today: date) -> None:
        data = asked.copy()
        data.setdefault("day", today.isoformat())
        data.setdefault("meal", Meal.LUNCH.value)
        super().__init__(data, label_suffix="")
        self.site, self.today = site, today

    def clean_day(self) -> date:
        """Refuse a day on which kitchens are not followed."""
        day: date = self.cleaned_data["day"]
        if abs(day - self.today) > FOLLOWED:
            raise ValidationError(
                "%(day)s is more than %(days)s days from today. Give a day nearer by.",
                code="far",
                params={"day": day.isoformat(), "days": FOLLOWED.days},
            )
        return day

    def clean(self) -> dict[str, Any]:
        """Refuse an end before the beginning."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        start, by = data.get("start"), data.get("by")
        if start and by and by <= start:
            self.add_error("by", "This is before the work begins. Give a later time.")
        return data

    def moment(self, field: str) -> datetime | None:
        """Return the time of that field on the day, at the site; None where it is empty."""
        at: time | None = self.cleaned_data[field]
        if at is None:
            return None
        return datetime.combine(self.cleaned_data["day"], at, self.site.zone)
