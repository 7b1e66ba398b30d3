"""The settings of a site, as its administrator fills them in."""

from __future__ import annotations

from copy import copy
from typing import Any
from zoneinfo import available_timezones

from django import forms

from compliance.web.stale import Parts
from menus.models import Site
from menus.models.site import countries
from menus.services.sites import SETTINGS

LAST_HOUR = 23
YES_NO = {True: "yes", False: "no"}


class SiteForm(forms.ModelForm):  # type: ignore[type-arg]
    """Country, clock, food law and what is printed. Another food law is taken only with a tick of its own.

    The site itself stays as it is: what was chosen goes into a copy, `instance`.
    """

    country = forms.ChoiceField(
        label="Country",
        required=False,
        help_text="Decides the emergency number on the pages and the printed sheets.",
    )
    time_zone = forms.CharField(
        label="Time zone",
        max_length=64,
        help_text="Its days begin and end by this clock: enrolments, menus, posts, reviews.",
        widget=forms.TextInput(attrs={"list": "zones", "autocomplete": "off", "autocapitalize": "none"}),
    )
    nightly_hour = forms.IntegerField(
        label="Hour of the nightly check",
        min_value=0,
        max_value=LAST_HOUR,
        required=False,
        help_text="0 to 23, by the site's clock. Empty: as set for the whole service.",
    )
    law_confirmed = forms.BooleanField(
        label="Licensed staff know of it: go by the other food law from now on",
        required=False,
    )

    class Meta:
        model = Site
        fields = SETTINGS
        labels = {
            "jurisdiction": "Food law",
            "names_conditions": "Printed lists name conditions",
            "forms_to": "Where families hand forms in",
            "nondiscrimination": "Nondiscrimination statement",
        }
        help_texts = {
            "jurisdiction": "Whose law says what a label must name. Every label is read by it.",
            "names_conditions": (
                "Sheets for a room say what to keep away from each child. Ticked, they name the medical condition "
                "too, and whoever passes the sheet reads it. Leave it off unless families and your local rules agree."
            ),
            "forms_to": "Printed on the families' paper form, such as: the nurse's office, room 4.",
            "nondiscrimination": "Your program's own text, printed on the paper form word for word. Empty: left out.",
        }
        widgets = {"nondiscrimination": forms.Textarea(attrs={"rows": 4})}

    field_order = SETTINGS

    def __init__(self, data: Any, *, site: Site) -> None:
        super().__init__(data, instance=copy(site), label_suffix="")
        country = self.fields["country"]
        assert isinstance(country, forms.ChoiceField)
        by_law = Site(jurisdiction=site.jurisdiction).country_code
        country.choices = [("", f"As the food law tells ({by_law})" if by_law else "Choose"), *_by_name()]

    def clean(self) -> dict[str, Any]:
        """Refuse another food law that nobody confirmed."""
        typed = super().clean() or {}
        law = typed.get("jurisdiction")
        if law and law != self.initial["jurisdiction"] and not typed.get("law_confirmed"):
            self.add_error(
                "law_confirmed",
                "Under another food law labels must name other foods, so the same silence on a label means something "
                "else, and every menu of the site is checked anew. Ask licensed staff first; then tick this.",
            )
        return typed

    @property
    def asks_about_law(self) -> bool:
        """Whether the tick is shown: once another law was chosen."""
        return self.is_bound and bool(self.errors.get("law_confirmed") or self.data.get("law_confirmed"))

    def said(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        return {name: self.cleaned_data[name] for name in SETTINGS}

    def parts(self, of: Site, beside: Site) -> Parts:
        """What the settings of one say where the other's differ, in the words of the form."""
        differs = [name for name in SETTINGS if getattr(of, name) != getattr(beside, name)]
        return tuple((str(self.fields[name].label), _words(of, name)) for name in differs)


def zones() -> list[str]:
    """Return the time zones by place, as they are offered while one types."""
    return sorted(name for name in available_timezones() if "/" in name and not name.startswith("Etc/"))


def _by_name() -> list[tuple[str, str]]:
    return sorted(((code, name) for code, name in countries().items()), key=lambda each: each[1])


def _words(site: Site, name: str) -> str:
    value = getattr(site, name)
    if isinstance(value, bool):
        return YES_NO[value]
    if name == "jurisdiction":
        return site.get_jurisdiction_display()
    return "empty" if value in (None, "") else str(value)
