"""One restriction through all its versions, and its end. For licensed staff."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.children_lines import what
from compliance.web.gates import children_for
from compliance.web.signed_in import SignedInRequest
from compliance.web.signing import SignedForm
from roster.life.statement import end_restriction
from roster.models import Restriction, State
from roster.services import StaleVersion


class EndForm(SignedForm):
    """The last day, the reason, a signature."""

    last_day = forms.DateField(
        label="Last day on which it protects", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    reason = forms.CharField(
        label="Why it ends",
        help_text="And on what paper or talk that rests.",
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Say why it ends, and on what paper or talk that rests."},
    )

    def ending(self) -> dict[str, Any]:
        """What the service takes, once the form is valid."""
        return {name: self.cleaned_data[name] for name in ("last_day", "reason", "signature")}


@dataclass(frozen=True, slots=True)
class Past:
    """One version, and where it stood on the day on which it was recorded."""

    version: Restriction
    state: State


def visible_restrictions(request: SignedInRequest) -> QuerySet[Restriction]:
    """Return the versions that concern children in the person's care as licensed staff."""
    return Restriction.objects.filter(child__in=children_for(request)).select_related(
        "child", "statement", "review__reviewed_by", "recorded_by"
    )


@require_safe
def restriction(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show every version of the restriction that this one belongs to, the newest first."""
    shown = get_object_or_404(visible_restrictions(request), pk=pk)
    chain = shown.chain
    versions = list(visible_restrictions(request).filter(Q(pk=chain) | Q(first=chain)).order_by("-pk"))
    site = shown.child.site
    assert site is not None
    context = {
        "child": shown.child,
        "site": site,
        "newest": versions[0],
        "what": what(shown),
        "pasts": [Past(each, each.state_on(each.recorded_at.astimezone(site.zone).date())) for each in versions],
        "state": versions[0].state_on(_today(shown)),
    }
    return render(request, "restrictions/restriction.html", context)


@require_http_methods(["GET", "POST"])
def restriction_end(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take the end of a restriction, with its reason. The address names the version that the person saw."""
    shown = get_object_or_404(visible_restrictions(request), pk=pk)
    form = EndForm(request, initial={"last_day": _today(shown)})
    stale: StaleVersion | None = None
    if request.method == "POST" and form.is_valid():
        try:
            ended = end_restriction(version=shown, ended_by=request.user, **form.ending())
        except StaleVersion as error:
            stale = error
        except ValidationError as error:
            _tell(form, error)
        else:
            messages.success(request, f"Signed and kept. It protects up to and including {ended.ends_on}.")
            return redirect("child", pk=shown.child_id)
    context = {"child": shown.child, "site": shown.child.site, "version": shown, "what": what(shown)}
    return render(request, "restrictions/end.html", {**context, "form": form, "stale": stale})


def _tell(form: forms.Form, error: ValidationError) -> None:
    for name, wrong in (error.message_dict if hasattr(error, "error_dict") else {"": error.messages}).items():
        form.add_error(name if name in form.fields else None, ValidationError(wrong))


def _today(shown: Restriction) -> date:
    site = shown.child.site
    assert site is not None
    return timezone.now().astimezone(site.zone).date()


urls = [
    path("restrictions/<int:pk>/", restriction, name="restriction"),
    path("restrictions/<int:pk>/end/", restriction_end, name="restriction-end"),
]
