"""The forms that take a statement in and say what licensed staff found in it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils import timezone

from compliance.web.children_lines import what
from compliance.web.fields import offer, offer_choices
from compliance.web.named import codes_of
from compliance.web.numbers import row_numbers
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from menus.models import Site
from menus.sealed import KeyLost
from roster.life.scan import Scan, checked_scan
from roster.models import Child, Credential, GuardianEntry, Program, Restriction, Statement, Strictness
from roster.services import StaleVersion

USUAL_TERM = timedelta(days=365)
REACH = "reach-"
"""Begins the name of the field that asks about one version; its id follows."""

DAY = {"type": "date"}


class PaperField(forms.ModelChoiceField):
    """Papers that guardians sent in, by day and sender."""

    def label_from_instance(self, entry: GuardianEntry) -> str:
        return f"{entry.recorded_at:%Y-%m-%d}, from {entry.sent_by}"


class StatementForm(forms.Form):
    """What a statement says, who signed it, its scan, and the restrictions that it speaks of.

    `under` holds the ids of the versions that the page showed, so that a newer one is noticed.
    """

    under = forms.MultipleChoiceField(label="It speaks of these", required=False, widget=forms.CheckboxSelectMultiple)
    further = forms.CharField(
        label="Further foods that it names, one a line",
        help_text="They protect from now, traces too.",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    impairment = forms.CharField(
        label="How the impairment restricts the diet",
        help_text="In the words of the statement. The name of the condition is not needed.",
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    accommodate = forms.CharField(label="What must be done", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    omit = forms.CharField(label="What to leave out", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    instead = forms.CharField(label="What to give instead", required=False, widget=forms.Textarea(attrs={"rows": 2}))
    program = forms.ChoiceField(label="Program", choices=Program.choices)
    signatory = forms.CharField(
        label="Signed by", max_length=120, error_messages={"required": "Type the name under the signature."}
    )
    credential = forms.ChoiceField(
        label="Profession of who signed",
        choices=Credential.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose the profession of who signed; the rules ask for it."},
    )
    credential_words = forms.CharField(
        label="Credential as written", help_text="Such as MD, NP, RDN.", max_length=60, required=False
    )
    licence_state = forms.CharField(
        label="State of the licence",
        max_length=40,
        error_messages={"required": "Type the State in which that person is licensed."},
    )
    signed_on = forms.DateField(
        label="Signed on",
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
        error_messages={"required": "Give the day of the signature, as 2026-01-31."},
    )
    review_on = forms.DateField(
        label="Runs out on",
        help_text="The protection stays; on that day a new statement is asked for. Empty: a year after the signature.",
        required=False,
        widget=forms.DateInput(attrs=DAY, format="%Y-%m-%d"),
    )
    replaces = forms.ModelChoiceField(
        Statement.objects.none(),
        label="It takes the place of",
        required=False,
        empty_label="No statement on record",
        error_messages={"invalid_choice": "Another statement took its place meanwhile. Choose again."},
    )
    file = forms.FileField(
        label="Scan",
        help_text="PDF, JPEG or PNG, up to 10 MB. It is kept encrypted.",
        required=False,
        allow_empty_file=True,  # refused below, by what it holds
        widget=forms.FileInput(attrs={"accept": "application/pdf,image/jpeg,image/png"}),
    )
    paper = PaperField(
        GuardianEntry.objects.none(),
        label="Or the paper that the family sent",
        required=False,
        empty_label="None of these",
    )

    def __init__(self, request: SignedInRequest, *, child: Child, site: Site, versions: Sequence[Restriction]) -> None:
        data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
        initial = {"program": Program.NSLP, "paper": request.GET.get("paper")}
        super().__init__(data, files, label_suffix="", initial=initial)
        self.today = timezone.now().astimezone(site.zone).date()
        # With those that a page shown earlier named: whether they are the newest is for the service to say.
        seen = Restriction.objects.filter(child=child, pk__in=row_numbers(request.POST.getlist("under")))
        self.versions = {str(version.pk): version for version in [*versions, *seen]}
        self._offer_versions()
        offer(self, "replaces", child.statements.filter(replaced_by=None))
        offer(self, "paper", child.guardian_entries.exclude(scan="").select_related("sent_by"))

    def _offer_versions(self) -> None:
        offer_choices(self, "under", [(pk, named(version)) for pk, version in self.versions.items()])

    def take_newer(self, stale: StaleVersion) -> None:
        """Put the newer version in the place of the one that was ticked; whoever has seen both sends the form anew."""
        old, newer = str(stale.old.pk), str(stale.newer.pk)
        sent = QueryDict(mutable=True)
        sent.update(self.data)
        sent.setlist("under", [newer if pk == old else pk for pk in sent.getlist("under")])
        self.data, self.versions = (
            sent,
            {pk: each for pk, each in self.versions.items() if pk != old} | {newer: stale.newer},
        )
        self._offer_versions()

    def clean_further(self) -> list[str]:
        """Return the codes of the foods named."""
        return codes_of(self.cleaned_data["further"])

    def clean_signed_on(self) -> date:
        """Refuse a day to come."""
        signed_on: date = self.cleaned_data["signed_on"]
        if signed_on > self.today:
            raise ValidationError(f"{signed_on} is still to come. Give the day of the signature.")
        return signed_on

    def clean_file(self) -> Scan | None:
        """Return the scan, checked by what it holds."""
        file = self.cleaned_data["file"]
        return checked_scan(file) if file else None

    def clean_paper(self) -> Scan | None:
        """Return what the family sent, where it is to be the scan."""
        entry = self.cleaned_data["paper"]
        if entry is None:
            return None
        try:
            with entry.scan.open("rb") as file:
                return Scan(file.read(), entry.scan_type)
        except (FileNotFoundError, KeyLost) as error:
            raise ValidationError(
                "The paper that the family sent cannot be opened. Tell the administrator, and scan the paper itself."
            ) from error

    def clean(self) -> dict[str, Any]:
        """A statement that names nothing protects nobody."""
        typed: dict[str, Any] = self.cleaned_data
        if not self.errors and not typed["under"] and not typed["further"]:
            raise ValidationError("Tick what the statement speaks of, or name a food: else it protects from nothing.")
        return typed

    def received(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        typed = dict(self.cleaned_data)
        under, further = typed.pop("under"), typed.pop("further")
        scan, paper = typed.pop("file"), typed.pop("paper")
        typed["review_on"] = typed["review_on"] or typed["signed_on"] + USUAL_TERM
        covered = {self.versions[pk].substance for pk in under}
        return {
            **typed,
            "under": [self.versions[pk] for pk in under],
            "further": {code: Strictness.TRACE for code in further if code not in covered},
            "scan": scan or paper,
        }


class ReviewForm(SignedForm):
    """For each restriction under the statement, how far it reaches; what is wanting; a signature."""

    wanting = forms.CharField(
        label="A better statement is to say",
        help_text="The clear part holds at once. Empty: nothing is wanting.",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(
        self,
        request: SignedInRequest,
        *,
        statement: Statement,
        versions: Sequence[Restriction],
        initial: dict[str, Any],
    ) -> None:
        super().__init__(request, initial=initial)
        sent = [name.removeprefix(REACH) for name in request.POST if name.startswith(REACH)]
        seen = Restriction.objects.filter(statement=statement, pk__in=row_numbers(sent))
        self.versions = list(seen) if sent else list(versions)
        for version in self.versions:
            self._ask_about(version)

    def _ask_about(self, version: Restriction) -> None:
        """Without a substance there is no reach to choose: what people see to stands as it is written."""
        stands = [(version.strictness, "Stands as it is written")]
        self.fields[f"{REACH}{version.pk}"] = forms.ChoiceField(
            label=named(version),
            choices=Strictness.choices if version.substance else stands,
            initial=version.strictness,
            widget=forms.RadioSelect,
            error_messages={"required": "Say how far it reaches, by the words of the statement."},
        )

    def take_newer(self, stale: StaleVersion) -> None:
        """Ask about the newer version in the place of the one that was answered for, where it is still to be asked."""
        sent = QueryDict(mutable=True)
        sent.update(self.data)
        answers = sent.pop(f"{REACH}{stale.old.pk}", [])
        sent.setlist(f"{REACH}{stale.newer.pk}", answers)
        self.data = sent
        self.versions = [version for version in self.versions if version != stale.old]
        del self.fields[f"{REACH}{stale.old.pk}"]
        if stale.newer.statement_id == stale.old.statement_id:
            self.versions.append(stale.newer)
            self._ask_about(stale.newer)

    @property
    def reaches(self) -> list[forms.BoundField]:
        """The fields of the restrictions."""
        return [self[f"{REACH}{version.pk}"] for version in self.versions]

    def found(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        typed = self.cleaned_data
        return {
            "strictness": {version: typed[f"{REACH}{version.pk}"] for version in self.versions},
            **{name: typed[name] for name in ("wanting", "note", "signature")},
        }


def named(version: Restriction) -> str:
    """The restriction as a form names it."""
    reach = f", {version.get_strictness_display().lower()}" if version.substance else ""
    return f"{what(version)}{reach} (version {version.number})"
