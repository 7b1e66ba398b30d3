"""The form in which licensed staff answer what a guardian sent in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from compliance.web.children_lines import what
from compliance.web.named import codes_of
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from roster.kinds.kind import restriction_kinds
from roster.models import Restriction
from roster.models.restriction import MEDICAL

KIND = "kind-"
"""Begins the name of the field that asks for the kind of one version; its id follows."""


class EntryAnswerForm(SignedForm):
    """What the guardian's words mean beyond what was understood, and what the guardian is told."""

    further = forms.CharField(
        label="Foods that the guardian's words mean, one a line",
        help_text="They protect from now. Leave it empty where everything was understood.",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    told = forms.CharField(
        label="What the guardian is told",
        help_text="What holds now, and what you still need of the family. Families may read Spanish alone.",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say what the guardian is to read: what holds now, and what you still need."},
    )
    note = forms.CharField(
        label="Note for licensed staff",
        help_text="The guardian does not read it.",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, request: SignedInRequest, *, versions: Sequence[Restriction]) -> None:
        super().__init__(request)
        self.unkind = [version for version in versions if version.substance and not version.kind]
        for version in self.unkind:
            self.fields[f"{KIND}{version.pk}"] = forms.ChoiceField(
                label=f"Kind of restriction: {what(version)}", choices=_kinds(version), required=False
            )
        self.order_fields(
            [*(f"{KIND}{version.pk}" for version in self.unkind), "further", "told", "note", "signature", "password"]
        )

    def clean(self) -> dict[str, Any]:
        """Refuse a kind chosen for a version in whose place another has come meanwhile: it would be lost unseen."""
        typed: dict[str, Any] = self.cleaned_data
        if any(name.startswith(KIND) and said and name not in self.fields for name, said in self.data.items()):
            raise ValidationError(
                "Nothing was saved: one of the restrictions got a new version or its kind meanwhile. Look at what "
                "stands above now, then answer again."
            )
        return typed

    def clean_further(self) -> list[str]:
        """Return the codes of the foods named."""
        return codes_of(self.cleaned_data["further"])

    def answer(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        chosen = {version: self.cleaned_data[f"{KIND}{version.pk}"] for version in self.unkind}
        return {
            **{name: self.cleaned_data[name] for name in ("further", "told", "note", "signature")},
            "kinds": {version: kind for version, kind in chosen.items() if kind},
        }


def _kinds(version: Restriction) -> list[tuple[str, str]]:
    """The kinds on the same ground, those that usually mean this substance first."""
    fitting = [kind for kind in restriction_kinds().values() if (kind.basis in MEDICAL) == version.is_medical]
    usual_first = sorted(fitting, key=lambda kind: version.substance not in kind.substances)
    return [("", "Not known yet"), *((kind.code, kind.name) for kind in usual_first)]
