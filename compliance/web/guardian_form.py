"""The forms that guardians fill in, in their own language."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from compliance.web.children_lines import Line
from compliance.web.familywords import for_family, language_now
from compliance.web.fields import offer, offer_choices
from compliance.web.language import is_turned
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from menus.substances.catalogue import Catalogue
from roster.kinds.kind import restriction_kinds
from roster.kinds.spanish import name_in
from roster.life.scan import Scan, checked_scan
from roster.models import Asks, Basis, Restriction, Strictness

OFTEN = (
    *("milk", "egg", "peanut", "tree-nut", "wheat", "gluten", "soy", "sesame", "fish", "crustacean", "mollusc"),
    *("mustard", "celery", "lupin", "sulphite", "lactose", "corn", "kiwi", "pork", "beef", "gelatin"),
)
"""What is offered to tick: the groups that laws name, and foods that families often name. The rest is written."""

WAYS = (
    *("vegetarian", "lacto-vegetarian", "pescatarian", "vegan", "halal", "kosher", "hindu-no-beef", "jain"),
    *("buddhist", "sikh", "adventist", "ital", "latter-day-saints"),
)
"""Ways of eating that hold every day. Those that follow a calendar are written; licensed staff ask for the days."""

GROUNDS = [
    (Basis.REPORTED, _("For the child's health")),
    (Basis.RELIGIOUS, _("For our religion")),
    (Basis.ETHICAL, _("For our convictions")),
    (Basis.FAMILY, _("It is our family's wish")),
]
REACHES = [
    (Strictness.TRACE, _("Traces too; I am not sure")),
    (Strictness.INGREDIENT, _("As an ingredient only")),
]
MOST_TYPED = 1_000
ROWS = {"rows": 3}


class GuardianSignedForm(SignedForm):
    """A form that a guardian signs with name and password.

    Turned into another language it is not tried: it begins with all that was typed, but for the password and the file,
    which no page may give back.
    """

    def __init__(self, request: SignedInRequest, **kwargs: Any) -> None:
        self.is_turned = is_turned(request)
        if self.is_turned:
            super().__init__(request, data=None, **kwargs)
            self.initial.update((name, _typed(field, request, name)) for name, field in self.fields.items())
        else:
            super().__init__(request, files=request.FILES if request.method == "POST" else None, **kwargs)
        name, password = self.fields["signature"], self.fields["password"]
        name.label, name.help_text = gettext("Your name"), gettext("Typing it signs this form.")
        name.error_messages["required"] = gettext("This is signed. Type your name.")
        password.label = gettext(str(password.label))
        password.error_messages["required"] = gettext("A signature needs your password or code.")

    def add_error(self, field: str | None, error: Any) -> None:
        """As for any form; what is wrong with a password or code is said in the language of the page."""
        if isinstance(error, ValidationError) and getattr(error, "code", "") == "password":
            wrong = gettext(
                "This is not your password, nor the code that your app shows now. Nothing was sent; type it again."
            )
            error = ValidationError(wrong, code="password")
        super().add_error(field, error)


def _typed(field: forms.Field, request: SignedInRequest, name: str) -> Any:
    return field.widget.value_from_datadict(request.POST, MultiValueDict(), name)


class NeedForm(GuardianSignedForm):
    """What a child is to be kept from, why, and what to offer instead."""

    substances = forms.MultipleChoiceField(
        label=_("Foods to keep away"), required=False, widget=forms.CheckboxSelectMultiple
    )
    words = forms.CharField(
        label=_("Other foods, one a line"),
        help_text=_("In your own words, in English or Spanish. Write foods only: no illness, no medicine."),
        max_length=MOST_TYPED,
        required=False,
        widget=forms.Textarea(attrs=ROWS),
    )
    kinds = forms.MultipleChoiceField(label=_("A way of eating"), required=False, widget=forms.CheckboxSelectMultiple)
    basis = forms.ChoiceField(label=_("Why"), choices=GROUNDS, required=False, widget=forms.RadioSelect)
    strictness = forms.ChoiceField(
        label=_("How far"),
        help_text=_("For a child's health traces always count."),
        choices=REACHES,
        initial=Strictness.TRACE,
        widget=forms.RadioSelect,
    )
    milk_reason = forms.CharField(
        label=_("If you ask for another drink in place of milk: why?"),
        help_text=_(
            "For a reason other than a disability, a parent's written request is enough for a school lunch "
            "program. The program chooses which drinks it offers."
        ),
        max_length=MOST_TYPED,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    instead = forms.CharField(
        label=_("What could be offered instead"),
        max_length=MOST_TYPED,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    contact = forms.CharField(
        label=_("How to reach you about this"), help_text=_("Telephone or e-mail."), max_length=200, required=False
    )
    file = forms.FileField(
        label=_("A signed medical statement, if you have one"),
        help_text=_("PDF, JPEG or PNG, up to 10 MB. It is kept encrypted, and licensed staff alone open it."),
        required=False,
        allow_empty_file=True,  # refused below, by what it holds
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/jpeg,image/png"}),
    )

    field_order = (
        *("substances", "words", "kinds", "basis", "strictness", "milk_reason", "instead", "contact", "file"),
        *("signature", "password"),
    )

    def __init__(self, request: SignedInRequest) -> None:
        super().__init__(request)
        language = language_now()
        foods = {code: name_in(language, "substance", code, Catalogue.load().get(code).name) for code in OFTEN}
        ways = {code: name_in(language, "kind", code, restriction_kinds()[code].name) for code in WAYS}
        offer_choices(self, "substances", list(foods.items()))
        offer_choices(self, "kinds", list(ways.items()))

    def clean_file(self) -> Scan | None:
        """Return the paper, checked by what it holds; said in the language of the page."""
        file = self.cleaned_data["file"]
        try:
            return checked_scan(file) if file else None
        except ValidationError as error:
            raise ValidationError(gettext(str(error.message)), code=error.code, params=error.params) from error

    def clean(self) -> dict[str, Any]:
        """Something is asked for, and where it is no way of eating, why."""
        typed: dict[str, Any] = self.cleaned_data
        if self.errors:
            return typed
        foods = typed["substances"] or typed["words"].strip() or typed["milk_reason"].strip()
        if not (foods or typed["kinds"]):  # a paper alone would protect from nothing until somebody reads it
            raise ValidationError(
                gettext("Tick or write at least one food, a way of eating, or a reason for another drink.")
            )
        if foods and not typed["basis"]:
            self.add_error("basis", gettext("Choose why: it decides who looks at it, and what paper is needed."))
        return typed

    def said(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        named = ("substances", "words", "kinds", "basis", "strictness", "milk_reason", "instead", "contact")
        typed = {name: self.cleaned_data[name] for name in (*named, "signature")}
        return {**typed, "asks": Asks.AVOID, "language": language_now(), "scan": self.cleaned_data["file"]}


class AboutField(forms.ModelChoiceField):
    """What is on record, by the words in which the family reads it."""

    def label_from_instance(self, version: Restriction) -> str:
        return for_family(version)


class RequestForm(GuardianSignedForm):
    """A correction of what is on record, or an end of it, asked for in words. By itself it changes nothing."""

    asks = forms.ChoiceField(
        label=_("What you ask for"),
        choices=[
            (Asks.CORRECT, _("Something on record is wrong")),
            (Asks.END, _("Something need not be kept away any more")),
        ],
        widget=forms.RadioSelect,
        error_messages={"required": _("Choose what you ask for.")},
    )
    about = AboutField(
        Restriction.objects.none(), label=_("It is about"), required=False, empty_label=_("Something else")
    )
    words = forms.CharField(
        label=_("What is to change, and why"),
        max_length=MOST_TYPED,
        widget=forms.Textarea(attrs=ROWS),
        error_messages={"required": _("Write what is to change, so that somebody can act on it.")},
    )
    contact = forms.CharField(
        label=_("How to reach you about this"), help_text=_("Telephone or e-mail."), max_length=200, required=False
    )

    field_order = ("asks", "about", "words", "contact", "signature", "password")

    def __init__(self, request: SignedInRequest, *, lines: list[Line], initial: dict[str, Any]) -> None:
        super().__init__(request, initial=initial)
        offer(self, "about", Restriction.objects.filter(pk__in=[line.version.pk for line in lines]))

    def said(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        typed = {name: self.cleaned_data[name] for name in ("asks", "about", "words", "contact", "signature")}
        return {**typed, "language": language_now(), "scan": None}
