"""The form for a report: what it asks depends on the kind of restriction."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms

from compliance.web.fields import offer_choices
from compliance.web.named import codes_of
from menus.substances.catalogue import Catalogue
from roster.kinds.days import SetDays
from roster.kinds.kind import Enforced, RestrictionKind
from roster.kinds.related import Related, related_to
from roster.life.report import Said
from roster.models import Restriction, Strictness
from roster.models.restriction import MEDICAL

UNSAID = [("", "Not prescribed")]
FOOD_LEVELS = UNSAID + [(str(level), f"Level {level}") for level in range(3, 8)]
DRINK_LEVELS = UNSAID + [(str(level), f"Level {level}") for level in range(5)]
"""By number alone, as a statement gives them (IDDSI framework: food 3 to 7, drink 0 to 4)."""

CHOSEN = "Related food, chosen by licensed staff."
IN_PART = {Enforced.PARTLY, Enforced.COMBINATION}
NAMES_NOTHING = {Enforced.NOT, Enforced.TEXTURE, Enforced.AGE}


class ReportForm(forms.Form):
    """One kind of restriction of one child, as somebody reports it."""

    substances = forms.MultipleChoiceField(
        label="It usually means these. Take off what is not meant.",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    related = forms.MultipleChoiceField(
        label="Add, if the plan says so", required=False, widget=forms.CheckboxSelectMultiple
    )
    named = forms.CharField(
        label="Further foods, one a line",
        help_text="As people call them: cashew, kiwi, Yellow 5.",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    strictness = forms.ChoiceField(label="How far", choices=Strictness.choices, widget=forms.RadioSelect)
    food_level = forms.ChoiceField(label="Food", choices=FOOD_LEVELS, required=False)
    drink_level = forms.ChoiceField(label="Drink", choices=DRINK_LEVELS, required=False)
    told = forms.CharField(
        label="What whoever serves the child is to see to",
        help_text="In plain words, without naming a condition. It stands on the list of the class.",
        max_length=200,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    days = forms.ChoiceField(
        label="On which days",
        choices=[("", "Choose"), *((each.value, each.words) for each in SetDays)],
        error_messages={"required": "Ask on which days the family keeps it. In doubt take every day."},
    )
    starts_on = forms.DateField(
        label="First day, if not at once", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    ends_on = forms.DateField(
        label="Last day, if there is one", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    note = forms.CharField(
        label="Who reports it, in their words",
        help_text="Read by licensed staff alone. Such as: mother at the door, “hives after cashew”.",
        max_length=200,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, data: Any, *, kind: RestrictionKind, licensed: bool) -> None:
        self.kind = kind
        self.advice = [row for code in kind.substances for row in related_to(code)] if licensed else []
        super().__init__(data, label_suffix="", initial=_initial(kind))
        offer_choices(self, "substances", [(code, _name(code)) for code in kind.substances])
        offer_choices(self, "related", _offered(self.advice, kind))
        for name in self._left_out():
            del self.fields[name]

    def _left_out(self) -> list[str]:
        """What this kind has no use for."""
        medical, enforced = self.kind.basis in MEDICAL, self.kind.enforced
        is_calendar = enforced is Enforced.CALENDAR
        names_nothing = enforced in NAMES_NOTHING
        unused = {
            "substances": not self.kind.substances,
            "related": not self.advice,
            "named": names_nothing,
            "strictness": names_nothing or (medical and self.kind.strictness == Strictness.TRACE),
            "food_level": enforced is not Enforced.TEXTURE,
            "drink_level": enforced is not Enforced.TEXTURE,
            "told": not (names_nothing or enforced in IN_PART or (is_calendar and not self.kind.substances)),
            "days": not (is_calendar and self.kind.substances),
            "starts_on": medical,
            "ends_on": medical,
        }
        return [name for name, is_unused in unused.items() if is_unused]

    def clean_named(self) -> list[str]:
        """Return the codes of the foods named."""
        return codes_of(self.cleaned_data["named"])

    def said(self) -> Said:
        """What is reported, once the form is valid."""
        typed = self.cleaned_data
        codes = [*typed.get("substances", []), *typed.get("named", [])]
        return Said(
            kind=self.kind,
            substances=codes,
            strictness=typed.get("strictness", self.kind.strictness),
            days=typed.get("days", SetDays.EVERY),
            told=" ".join([*_levels(typed), typed.get("told", "").strip()]).strip(),
            note=typed["note"],
            starts_on=typed.get("starts_on"),
            ends_on=typed.get("ends_on"),
        )

    def chosen(self) -> Said | None:
        """The related foods that licensed staff ticked, once the form is valid: each its own restriction, so marked."""
        codes = self.cleaned_data.get("related", [])
        if not codes:
            return None
        note = f"{CHOSEN} {self.cleaned_data['note']}".strip()[: Restriction._meta.get_field("note").max_length]
        return replace(self.said(), substances=codes, told="", note=note)


def _initial(kind: RestrictionKind) -> dict[str, Any]:
    return {"substances": kind.substances, "strictness": kind.strictness, "told": kind.told}


def _levels(typed: dict[str, Any]) -> list[str]:
    names = {"food_level": "Food", "drink_level": "Drink"}
    return [f"{name}: level {typed[field]}." for field, name in names.items() if typed.get(field)]


def _offered(advice: list[Related], kind: RestrictionKind) -> list[tuple[str, str]]:
    codes = dict.fromkeys(code for row in advice for code in row.others if code not in kind.substances)
    return [(code, _name(code)) for code in codes]


def _name(code: str) -> str:
    return Catalogue.load().get(code).name
