"""What a teacher says about a treat: when it is handed out, and what it is in one of five ways."""

from __future__ import annotations

from datetime import datetime, time
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone

from compliance.checks.treattime import require_near
from menus.gtin import parse_gtin
from menus.labels.label import LONGEST_LABEL
from menus.models import Product, Site

SNACK_AT = time(14, 30)
"""When “at today's snack” is, as no clock times of meals are kept. It decides nothing but the day."""

NOW, SNACK, OTHER = "now", "snack", "other"


class TreatForm(forms.Form):
    """The page's one form. Whatever is filled in names the food; `product`, `no_label` and `by` are buttons."""

    when = forms.ChoiceField(
        label="When is it handed out?",
        widget=forms.RadioSelect,
        initial=NOW,
        error_messages={
            "invalid_choice": "That time is past. Choose “Now” or another time.",
            "required": "Choose when it is handed out: who is in the class depends on the day.",
        },
    )
    day = forms.DateField(
        label="Day",
        required=False,
        widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"),
        error_messages={"invalid": "This is no day of the calendar. Give it as year-month-day, such as 2027-03-09."},
    )
    clock = forms.TimeField(
        label="Time",
        required=False,
        widget=forms.TimeInput({"type": "time"}, "%H:%M"),
        error_messages={"invalid": "This is no time of day. Give it as hours and minutes, such as 14:30."},
    )
    gtin = forms.CharField(
        label="Number under the bars",
        required=False,
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
    )
    words = forms.CharField(
        label="Name of a food seen before", required=False, widget=forms.TextInput({"autocomplete": "off"})
    )
    # No maxlength on the widget: a browser would cut a pasted label short without a word.
    text = forms.CharField(
        label="What the package says",
        required=False,
        strip=False,
        widget=forms.Textarea({"rows": 6, "spellcheck": "false", "autocomplete": "off"}),
        help_text="Paste or type all of it: ingredients, “contains”, “may contain”, in any order.",
    )
    name = forms.CharField(label="What is it called?", required=False, max_length=160, help_text="May be left empty.")
    home_made = forms.BooleanField(label="It was made at home", required=False)
    product = forms.ModelChoiceField(
        Product.objects.none(),
        required=False,
        widget=forms.HiddenInput,
        error_messages={"invalid_choice": "This product is not on record here. Search again, or paste its label."},
    )
    no_label = forms.BooleanField(required=False, widget=forms.HiddenInput)
    by = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, site: Site, said: QueryDict | None, *, begun: QueryDict | None = None) -> None:
        super().__init__(said, label_suffix="", initial=begun.dict() if begun else {})
        self.now = timezone.now().astimezone(site.zone)
        product, when = self.fields["product"], self.fields["when"]
        assert isinstance(product, forms.ModelChoiceField) and isinstance(when, forms.ChoiceField)
        product.queryset = Product.objects.used_at([site])
        choices = [(NOW, "Now"), (SNACK, "At today's snack"), (OTHER, "Another time")]
        when.choices = [each for each in choices if each[0] != SNACK or self.now.time() < SNACK_AT]
        self.fields["day"].initial = self.now.date()

    def ask_for_label(self, product: Product | None) -> None:
        """Put the cursor where the label is to be pasted, and keep which product it is wanted of."""
        self.fields["text"].widget.attrs["autofocus"] = True
        if product:
            self.data = {**dict(self.data.items()), "gtin": product.gtin or "", "name": product.name}

    def clean_gtin(self) -> str | None:
        typed = self.cleaned_data["gtin"].strip()
        return parse_gtin(typed) if typed else None

    def clean_text(self) -> str:
        text: str = self.cleaned_data["text"]
        if len(text) > LONGEST_LABEL:
            raise ValidationError(
                f"This text has {len(text):,} characters, and a label here may have {LONGEST_LABEL:,}. "
                "Leave in only what the package says: ingredients, “contains”, “may contain”."
            )
        return text

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("no_label") and data.get("text", "").strip():
            self.add_error(
                None,
                "You filled in a label and also said that the food has no label. Use “Check this label”, or empty it.",
            )
        if "when" in data:
            data["served_at"] = self._served_at(data)
        return data

    def _served_at(self, data: dict[str, Any]) -> datetime | None:
        if data["when"] == NOW:
            return self.now
        if data["when"] == SNACK:
            return datetime.combine(self.now.date(), SNACK_AT, tzinfo=self.now.tzinfo)
        for field in ("day", "clock"):
            if not data.get(field) and field not in self.errors:
                self.add_error(field, "Another time needs a day and a time. Fill in both, or choose “Now”.")
        if self.errors:
            return None
        moment = datetime.combine(data["day"], data["clock"], tzinfo=self.now.tzinfo)
        try:
            require_near(moment, self.now)
        except ValidationError as error:
            self.add_error("clock" if error.code == "past" else "day", error)
        return moment
