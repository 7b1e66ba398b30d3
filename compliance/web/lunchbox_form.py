"""The forms of the lunchbox: a food to put in, the times, another day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from compliance.web.fields import offer_choices
from compliance.web.lunchbox_said import tongue
from menus.gtin import parse_gtin
from menus.labels.label import LONGEST_LABEL
from menus.mealpattern.household import household_foods, shapes
from menus.mealpattern.textures import DRINK, FOOD, levels
from menus.models import Product, Site
from roster.life.lunchbox import Packed

AHEAD = timedelta(days=28)
KEEPS = [("", _("I do not know")), ("cold", _("Cold")), ("hot", _("Hot")), ("any", _("Neither"))]


class HouseholdForm(forms.Form):
    """A plain food of the household, and how it is cut."""

    food = forms.ChoiceField(label=_("Food"), error_messages={"required": _("Choose a food.")})
    shape = forms.ChoiceField(label=_("How it is cut or cooked"), required=False)
    level = forms.TypedChoiceField(label=_("Level of texture, as made"), required=False, coerce=int, empty_value=None)

    def __init__(self, data: Any, *, textured: bool, today: date) -> None:
        super().__init__(data, label_suffix="", auto_id="household-%s")
        language = tongue()
        named = sorted((food.named(language), code) for code, food in household_foods().items())
        offer_choices(self, "food", [("", gettext("Choose")), *((code, name) for name, code in named)])
        cut = [(code, shape.named(language)) for code, shape in shapes().items()]
        offer_choices(self, "shape", [("", gettext("Not said")), *cut])
        _offer_levels(self, textured)

    def clean(self) -> dict[str, Any]:
        """A cut that the food does not know is refused: it would look as if it had been judged."""
        data: dict[str, Any] = self.cleaned_data
        food = household_foods().get(data.get("food", ""))
        if food and data.get("shape") and data["shape"] not in food.shapes:
            offered = ", ".join(shapes()[code].named(tongue()) for code in food.shapes) or gettext("nothing")
            self.add_error(
                "shape",
                gettext("For this food choose one of: %(shapes)s; or “Not said”.") % {"shapes": offered},
            )
        return data

    def packed(self) -> Packed:
        """The food as it goes into the box."""
        food = household_foods()[self.cleaned_data["food"]]
        return Packed(
            food.name,
            household=food.code,
            form=self.cleaned_data["shape"],
            keeps=food.keeps,
            texture=self.cleaned_data.get("level"),
        )


class OwnFoodForm(forms.Form):
    """A food by the number under its bars, or by name with the words of its package."""

    gtin = forms.CharField(
        label=_("Number under the bars"),
        required=False,
        widget=forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
    )
    name = forms.CharField(label=_("Name of the food"), required=False, max_length=160)
    words = forms.CharField(
        label=_("What the package says"),
        help_text=_("All of it: ingredients, “contains”, “may contain”. Empty: the food has no label."),
        required=False,
        strip=False,
        widget=forms.Textarea({"rows": 4, "spellcheck": "false", "autocomplete": "off"}),
    )
    home_made = forms.BooleanField(label=_("Made at home"), required=False)
    shape = forms.ChoiceField(label=_("How it is cut or cooked"), required=False)
    keeps = forms.ChoiceField(label=_("Is it kept cold or hot?"), choices=KEEPS, required=False)
    level = forms.TypedChoiceField(label=_("Level of texture, as made"), required=False, coerce=int, empty_value=None)

    def __init__(self, data: Any, *, site: Site, textured: bool, today: date) -> None:
        super().__init__(data, label_suffix="", auto_id="own-%s")
        self.site, self.today = site, today
        self.product: Product | None = None
        cut = [(code, shape.named(tongue())) for code, shape in shapes().items()]
        offer_choices(self, "shape", [("", gettext("Not said")), *cut])
        _offer_levels(self, textured)

    def clean_gtin(self) -> str:
        """The number in full, or nothing."""
        typed: str = self.cleaned_data["gtin"].strip()
        if not typed:
            return ""
        try:
            return parse_gtin(typed)
        except ValidationError as error:
            raise ValidationError(
                gettext("This is no number of a package. Type all the digits under the bars again.")
            ) from error

    def clean_words(self) -> str:
        """The words of the package, not too long to be kept."""
        words: str = self.cleaned_data["words"].replace("\x00", "")
        if len(words) > LONGEST_LABEL:
            raise ValidationError(gettext("This text is too long. Leave in only what the package says."))
        return words if words.strip() else ""

    def clean(self) -> dict[str, Any]:
        """Either a product that is on record here, or a name."""
        data: dict[str, Any] = self.cleaned_data
        if data.get("gtin") and not data.get("words"):
            self.product = Product.objects.used_at([self.site]).for_kitchen().filter(gtin=data["gtin"]).first()
            if self.product is None and not data.get("name"):
                self.add_error(
                    "gtin",
                    gettext(
                        "No product with this number is on record here. Give its name and the words of its package."
                    ),
                )
        elif "gtin" in data and not data.get("name"):
            self.add_error("name", gettext("Say what the food is, in a word or two."))
        return data

    def packed(self) -> Packed:
        """The food as it goes into the box."""
        data = self.cleaned_data
        return Packed(
            data["name"] or (self.product.name if self.product else ""),
            product=self.product,
            words=data["words"],
            seen_on=self.today if data["words"] else None,
            home_made=data["home_made"],
            form=data["shape"],
            keeps=data["keeps"],
            texture=data.get("level"),
        )


class TimesForm(forms.Form):
    """When the box is packed and eaten, and whether something keeps it cold or hot."""

    packed_at = forms.TimeField(label=_("Packed at"), required=False, widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    eaten_at = forms.TimeField(label=_("Eaten at"), required=False, widget=forms.TimeInput({"type": "time"}, "%H:%M"))
    kept_at_temperature = forms.BooleanField(label=_("With an ice pack, or in a vacuum flask"), required=False)

    def clean(self) -> dict[str, Any]:
        """A box is eaten after it is packed."""
        data: dict[str, Any] = self.cleaned_data
        if data.get("packed_at") and data.get("eaten_at") and data["eaten_at"] <= data["packed_at"]:
            self.add_error("eaten_at", gettext("The box would be eaten before it is packed. Give a later time."))
        return data


class CopyForm(forms.Form):
    """Another day for the same box."""

    to = forms.DateField(
        label=_("Copy to the day"),
        widget=forms.DateInput({"type": "date"}, "%Y-%m-%d"),
        error_messages={"invalid": _("This is no day of the calendar."), "required": _("Give the day.")},
    )

    def __init__(self, data: Any, *, today: date) -> None:
        super().__init__(data, label_suffix="")
        self.today = today

    def clean_to(self) -> date:
        """A day to come, within four weeks."""
        to: date = self.cleaned_data["to"]
        if not self.today <= to <= self.today + AHEAD:
            raise ValidationError(gettext("Choose today or a day within the coming four weeks."))
        return to


def _offer_levels(form: forms.Form, textured: bool) -> None:
    """Levels are asked for where the child has one set."""
    if not textured:
        del form.fields["level"]
        return
    named = {level.number: level.named(tongue()) for of in (DRINK, FOOD) for level in levels(of).values()}
    offer_choices(
        form, "level", [("", gettext("Not stated")), *((str(number), words) for number, words in named.items())]
    )
