"""The form in which licensed staff answer a question."""

from __future__ import annotations

from typing import Any

from django import forms
from django.db.models import QuerySet

from compliance.models import Referral
from compliance.web.fields import offer
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm


class ReferralsField(forms.ModelMultipleChoiceField):
    """Referrals to tick, each by its child and what the child avoids."""

    def label_from_instance(self, referral: Referral) -> str:
        return f"{referral.child}: {referral.avoided}"


class AnswerForm(SignedForm):
    """One answer, for one or more children, with its end and a signature."""

    referrals = ReferralsField(
        Referral.objects.none(),
        label="The answer is for",
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Tick at least one child: an answer is always about somebody."},
    )
    answer = forms.ChoiceField(
        label="Answer",
        choices=Referral.Answer.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose an answer: keep withholding, or allow within the scope."},
    )
    note = forms.CharField(
        label="Note", help_text="What the answer rests on.", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    ends_on = forms.DateField(
        label="The answer holds until",
        help_text="On the day after, the question is asked again.",
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
        error_messages={"required": "Give the last day on which the answer holds, as 2026-01-31."},
    )

    def __init__(
        self, request: SignedInRequest, *, open_referrals: QuerySet[Referral], can_allow: bool, **kwargs: Any
    ) -> None:
        super().__init__(request, **kwargs)
        if not can_allow:  # not offered; whoever sends it all the same is told why by `answer_referrals`
            self.fields["answer"].widget.choices = [(Referral.Answer.KEEP, Referral.Answer.KEEP.label)]
        offer(self, "referrals", open_referrals)
