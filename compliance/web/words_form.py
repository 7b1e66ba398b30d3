"""The forms in which a word of a label is proposed for the lexicon, reviewed and taken back."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.web.fields import offer_choices
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from menus.labels.doubts import Doubt, Ground
from menus.models import Sense
from menus.substances.catalogue import Catalogue
from menus.substances.errors import UnknownSubstance

GROUNDS = {
    Ground.SAYS: "“{word}” is known: {names}",
    Ground.HOLDS: "“{word}” holds the letters of: {names}",
    Ground.NEAR: "“{word}” is a slip or two away from: {names}",
}


def _several(rows: int = 2) -> forms.Textarea:
    return forms.Textarea(attrs={"rows": rows})


class SenseForm(forms.Form):
    """What a word is: an ordinary ingredient, or something of substances, which are ticked or named."""

    sense = forms.ChoiceField(
        label="It is",
        choices=Sense.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what it is. If you do not know, do not propose it: it stays unread."},
    )
    groups = forms.MultipleChoiceField(label="Substances", required=False, widget=forms.CheckboxSelectMultiple)
    others = forms.CharField(
        label="Other substances", required=False, help_text="Names with commas between them: cashew, kiwi, pork."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.label_suffix = ""
        groups = [(each.code, each.name) for each in Catalogue.load() if each.kind == "group"]
        offer_choices(self, "groups", groups)

    def clean_others(self) -> list[str]:
        """Find each name in the catalogue; one that is not there is answered with those that come near."""
        codes = []
        for name in filter(str.strip, self.cleaned_data["others"].split(",")):
            try:
                codes.append(Catalogue.load().resolve(name).code)
            except UnknownSubstance as error:
                raise ValidationError(str(error), code="substance") from error
        return codes

    @property
    def substances(self) -> list[str]:
        """The codes that a valid form names."""
        return [*self.cleaned_data["groups"], *self.cleaned_data["others"]]


def told(sense: str, codes: Iterable[str]) -> dict[str, Any]:
    """Return the initial values of a SenseForm that says this."""
    known = [Catalogue.load().get(code) for code in codes]
    return {
        "sense": sense,
        "groups": [each.code for each in known if each.kind == "group"],
        "others": ", ".join(each.name for each in known if each.kind != "group"),
    }


class ProposalForm(SenseForm):
    """What somebody says a word of the label is, and how they know."""

    phrase = forms.CharField(
        label="Word or words, as they stand on the label",
        max_length=80,
        error_messages={"required": "Give the word, as it stands on the label."},
    )
    reason = forms.CharField(
        label="How you know",
        widget=_several(),
        error_messages={"required": "Say in a sentence how you know: the reviewer starts from there."},
    )
    looked_up = forms.CharField(
        label="Where you looked it up",
        max_length=200,
        help_text="A book, a page of an authority, the maker's own answer with its date.",
        error_messages={"required": "Say where you looked it up, so that the reviewer can look there too."},
    )
    field_order = ["phrase", "sense", "groups", "others", "reason", "looked_up"]


class ReviewForm(SignedForm, SenseForm):
    """Licensed staff's answer to a proposal. Accepted, it counts at every site, so it is signed like any answer."""

    answer = forms.ChoiceField(
        label="Answer",
        choices=[("accept", "Accept it as below: it counts from now on"), ("decline", "Decline it: it stays unread")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose: accept or decline."},
    )
    seen = forms.MultipleChoiceField(label="Look again", required=False, widget=forms.CheckboxSelectMultiple)
    source = forms.CharField(
        label="Source",
        required=False,
        max_length=200,
        help_text="What the meaning rests on. It is shown wherever the word counts. Needed to accept.",
    )
    note = forms.CharField(
        label="Note", required=False, help_text="The kitchen reads it. Needed to decline.", widget=_several()
    )
    field_order = ["answer", "sense", "groups", "others", "seen", "source", "note", "signature", "password"]

    def __init__(self, request: SignedInRequest, *, doubts: Iterable[Doubt], **kwargs: Any) -> None:
        super().__init__(request, **kwargs)
        self.fields["sense"].required = False  # a word that is declined has none
        offer_choices(self, "seen", [(doubt.key, sentence(doubt)) for doubt in doubts])
        self.fields["seen"].help_text = "Tick what you have looked at and found to be something else."

    def clean(self) -> dict[str, Any]:
        """An acceptance says what the word is; a refusal need not."""
        asked = self.cleaned_data
        if asked.get("answer") == "accept" and not asked.get("sense"):
            self.add_error("sense", "Choose what it is, or decline it.")
        return asked


class WithdrawalForm(SignedForm):
    """Why an accepted word must not count any longer."""

    reason = forms.CharField(
        label="Why it is taken back", widget=_several(), error_messages={"required": "Say why it is taken back."}
    )
    field_order = ["reason"]


def sentence(doubt: Doubt) -> str:
    """Return the doubt in words."""
    return GROUNDS[doubt.ground].format(word=doubt.word, names=", ".join(doubt.names))
