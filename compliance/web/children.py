"""Children: the list, and for licensed staff all that is on record of one child's restrictions."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.texturesaid import texture_says
from compliance.models import Incident, Referral
from compliance.web.children_lines import lines_of, standing_at
from compliance.web.gates import children_for
from compliance.web.signed_in import SignedInRequest
from roster.access import children_to_report, children_with
from roster.life.plan import plan_of
from roster.life.texture import texture_of
from roster.models import Child, Enrolment
from roster.permits import Act, Thing

PER_PAGE = 60
ANSWERS_SHOWN = 10
INCIDENTS_SHOWN = 5


class AtForm(forms.Form):
    """A moment to ask about."""

    at = forms.DateTimeField(
        label="What was in force on that day, as known at that moment?",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        error_messages={"invalid": "Give a day and a time, as 2026-01-31 07:40."},
    )

    def __init__(self, data: Any, *, zone: ZoneInfo) -> None:
        super().__init__(data, label_suffix="")
        self.zone = zone

    def clean_at(self) -> datetime:
        """Take the moment on the site's clock; refuse one to come, of which nothing can be known."""
        at: datetime = self.cleaned_data["at"].replace(tzinfo=self.zone)
        if at > timezone.now():
            raise ValidationError("This moment is still to come. Give one that has passed.")
        return at


@require_safe
def children(request: SignedInRequest) -> HttpResponse:
    """List the children about whom the person may write down a report, by name. The number of queries is fixed."""
    asked = request.GET.get("name", "").strip()
    found = _named(children_to_report(request.user), asked).order_by("given_name", "family_name", "pk")
    here = Enrolment.objects.filter(ends_on=None) | Enrolment.objects.filter(ends_on__gte=timezone.now().date())
    shown = found.prefetch_related(
        Prefetch("enrolments", here.select_related("classroom__site").order_by("starts_on"), to_attr="now_in")
    )
    page = Paginator(shown, PER_PAGE).get_page(request.GET.get("page"))
    in_care = children_with(request.user, Thing.MEDICAL, Act.READ).filter(pk__in=[each.pk for each in page])
    cared_for = set(in_care.values_list("pk", flat=True))
    return render(request, "children/children.html", {"page_of": page, "asked": asked, "cared_for": cared_for})


def _named(found: QuerySet[Child], asked: str) -> QuerySet[Child]:
    for word in asked.split():
        found = found.filter(Q(given_name__icontains=word) | Q(family_name__icontains=word))
    return found


@require_safe
def child(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show a child's restrictions with their states, statements, allowances and questions; with `?at=`, as it was."""
    shown = get_object_or_404(children_for(request), pk=pk)
    site = shown.site
    assert site is not None  # whoever is in care is enrolled
    now = timezone.now()
    today = now.astimezone(site.zone).date()
    form = AtForm(request.GET if "at" in request.GET else None, zone=site.zone)
    lines = lines_of(shown, today, now)
    asked = Referral.objects.standing().filter(child=shown).select_related("answered_by", "restriction")
    return render(
        request,
        "children/child.html",
        {
            "child": shown,
            "site": site,
            "enrolments": shown.enrolments.select_related("classroom__site").order_by("-starts_on")[:4],
            "lines": [line for line in lines if not line.has_ended],
            "ended": [line for line in lines if line.has_ended],
            "plan": plan_of(shown),
            "texture": _texture(shown, now),
            "incidents": Incident.objects.with_state().filter(child=shown)[:INCIDENTS_SHOWN],
            "statements": shown.statements.select_related("received_by", "replaced_by").prefetch_related("reviews"),
            "waiting": asked.filter(answered_at=None).order_by("needed_by"),
            "answered": asked.exclude(answered_at=None).order_by("-answered_at")[:ANSWERS_SHOWN],
            "form": form,
            "then": _then(shown, form.cleaned_data["at"]) if form.is_valid() else None,
        },
    )


def _texture(shown: Child, at: datetime) -> str:
    """The level of texture that is set, or nothing."""
    level = texture_of(shown, at)
    return texture_says(level) if level and not level.ended else ""


def _then(shown: Child, moment: datetime) -> dict[str, object]:
    """What was in force at that moment."""
    return {"moment": moment, "lines": standing_at(shown, moment.date(), moment)}


urls = [
    path("children/", children, name="children"),
    path("children/<int:pk>/", child, name="child"),
]
