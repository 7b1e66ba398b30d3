"""For which days meals are worked out: one meal, the week, or several weeks together."""

from __future__ import annotations

from datetime import date

from django import forms

from compliance.models.mealjob import MOST_WEEKS
from menus.models import CycleMenu, Meal, Serving, Site
from menus.models.cycle import monday_of

WEEK = "week"
SPANS = (2, 4, 6, 8, MOST_WEEKS)


class SpanForm(forms.Form):
    """Offers the meals planned on the day, its week, and weeks from there on."""

    span = forms.ChoiceField(
        label="Work out",
        required=False,
        error_messages={"invalid_choice": "Choose one of the meals of that day, its week, or a number of weeks."},
    )

    def __init__(self, data: object = None, *, site: Site, day: date) -> None:
        super().__init__(data, label_suffix="", initial={"span": WEEK})  # type: ignore[arg-type]
        field = self.fields["span"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = _choices(site, day)

    @property
    def meal(self) -> str:
        """The meal that was chosen, or nothing."""
        chosen = self.cleaned_data["span"]
        return chosen if chosen in Meal.values else ""

    @property
    def weeks(self) -> int:
        """How many weeks were chosen; 1 for the week of the day."""
        chosen = self.cleaned_data["span"]
        return int(chosen) if chosen.isdigit() else 1


def _choices(site: Site, day: date) -> list[tuple[str, str]]:
    """Two queries."""
    planned = Serving.objects.planned().filter(site=site, date=day).order_by().values_list("meal", flat=True)
    there = set(planned)
    cycles = set(CycleMenu.objects.filter(site=site).order_by().values_list("weeks", flat=True))
    monday = f"{monday_of(day):%d %B}"
    offered = sorted({*SPANS, *(weeks for weeks in cycles if 2 <= weeks <= MOST_WEEKS)})
    return [
        (WEEK, f"the week of {monday}"),
        *((meal.value, f"{meal.label.lower()} of this day alone") for meal in Meal if meal.value in there),
        *(
            (str(weeks), f"{weeks} weeks from {monday}{', a whole cycle' if weeks in cycles else ''}")
            for weeks in offered
        ),
    ]
