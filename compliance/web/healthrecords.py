"""Health records: a FHIR file comes in, is tried out entry by entry, and what protects is taken over."""

from __future__ import annotations

import logging
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods, require_POST

from compliance.checks.recordintake import take_in
from compliance.web.gates import children_for, permit_of
from compliance.web.signed_in import SignedInRequest
from menus.imports.problem import Unreadable
from menus.imports.sheet import read_bytes
from menus.sealed import KeyLost
from roster.access import posts
from roster.fhir.lines import Plan
from roster.fhir.take import Taken, confirm, items_for, planned, receive, see_to
from roster.models import Child, HealthRecord, Verb
from roster.record.write import record

logger = logging.getLogger(__name__)

PER_PAGE = 20
WHO = "who-"
"""Begins the name of the field that asks who a patient is; the patient's place in the list follows."""

TICK = "add"


class FhirForm(forms.Form):
    """A file of health records."""

    file = forms.FileField(
        label="File",
        help_text="FHIR R4 in JSON: a Bundle, one resource, or one resource a line.",
        allow_empty_file=True,  # the reader says better what is wrong with it
        widget=forms.FileInput(attrs={"accept": ".json,.ndjson,application/fhir+json"}),
        error_messages={"required": "Choose the file. A browser forgets it when the page is loaded anew."},
    )


@require_http_methods(["GET", "POST"])
def import_fhir(request: SignedInRequest) -> HttpResponse:
    """List what came in and what waits; take a file, keep it sealed, and show what it would come to."""
    form = FhirForm(request.POST or None, request.FILES or None, label_suffix="")
    if request.method == "POST" and form.is_valid():
        try:
            kept = receive(read_bytes(form.cleaned_data["file"]), by=request.user)
        except Unreadable as error:
            form.add_error("file", f"{error.problem.what} {error.problem.mend}")
        else:
            messages.success(request, "Kept as it came. Nothing was taken over yet: look at what it would come to.")
            return redirect("health-record", pk=kept.pk)
    page_of = Paginator(_records(request).select_related("received_by"), PER_PAGE).get_page(request.GET.get("page"))
    items = items_for(children_for(request), _records(request))
    return render(request, "healthrecords/list.html", {"form": form, "page_of": page_of, "items": items})


@require_http_methods(["GET", "POST"])
def health_record(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show what a file comes to now; take a person's word on who is meant; take it over. The reading is on record."""
    kept = get_object_or_404(_records(request), pk=pk)
    among = children_for(request)
    plan = _planned(kept, among)
    if request.method == "POST":
        confirmed = _confirm(request, kept, plan)
        if "take" not in request.POST:
            messages.success(request, f"Kept whom you named ({confirmed}). Look at what the file comes to now.")
            return redirect("health-record", pk=kept.pk)
        taken = take_in(kept, _planned(kept, among), ticked=_ticked(request), by=request.user)
        messages.success(request, _told(taken))
        return redirect("health-record", pk=kept.pk)
    _on_record(request, kept, plan)
    patients = [(f"{WHO}{number}", match, plan.of(match.patient.key)) for number, match in enumerate(plan.matches)]
    return render(request, "healthrecords/record.html", {"kept": kept, "plan": plan, "patients": patients})


@require_POST
def health_item_seen(request: SignedInRequest, pk: int) -> HttpResponse:
    """Record that somebody licensed saw to what a file proposed. What protects is not touched by it."""
    item = get_object_or_404(items_for(children_for(request), _records(request)), pk=pk)
    see_to(item, note=request.POST.get("note", ""), by=request.user)
    messages.success(request, "Kept, with your name. What is on record for the child is as it was.")
    return redirect("import-fhir")


def _records(request: SignedInRequest) -> QuerySet[HealthRecord]:
    """The files that the person brought; all of them for who signs at every site, since a file may hold any child."""
    if any(post.is_everywhere for post in posts(request.user, permit_of(request))):
        return HealthRecord.objects.all()
    return HealthRecord.objects.filter(received_by=request.user)


def _on_record(request: SignedInRequest, kept: HealthRecord, plan: Plan) -> None:
    """Who read it, under each child that it is about."""
    children: list[Child | None] = [match.child for match in plan.matches if match.child]
    for child in children or [None]:
        site = child.site if child else None
        record(Verb.READ, kept, site=site, child=child, by=request.user.pk, page=request.path)


def _planned(kept: HealthRecord, among: QuerySet[Child]) -> Plan:
    try:
        return planned(kept, among)
    except FileNotFoundError as error:
        logger.error("The file of health record %s is missing.", kept.pk)
        raise Http404("The file of this health record is missing. Tell the administrator.") from error
    except KeyLost as error:
        logger.error("Health record %s cannot be opened: its key is missing.", kept.pk)
        raise Http404("This health record cannot be opened: its key is missing. Tell the administrator.") from error


def _confirm(request: SignedInRequest, kept: HealthRecord, plan: Plan) -> int:
    """Record whom the person named, among those offered. Returns how many."""
    named = 0
    for number, match in enumerate(plan.matches):
        chosen = request.POST.get(f"{WHO}{number}", "")
        child = next((each for each in match.candidates if str(each.pk) == chosen), None)
        if child:
            confirm(kept, match.patient.key, child, by=request.user)
            named += 1
    return named


def _ticked(request: SignedInRequest) -> dict[str, list[str]]:
    """The substances ticked, by the place of their entry: each value is “place|code”."""
    ticked: dict[str, list[str]] = {}
    for value in request.POST.getlist(TICK):
        place, _, code = value.rpartition("|")
        ticked.setdefault(place, []).append(code)
    return ticked


def _told(taken: Taken) -> str:
    if not taken.recorded:
        return "Nothing was to be added: all of it is on record, or waits for a look."
    asked = f" {len(taken.asks)} of them by words alone, each with a question on the list." if taken.asks else ""
    return f"Recorded: {len(taken.recorded)}, in force from now.{asked}"


urls: list[Any] = [
    path("imports/fhir/", import_fhir, name="import-fhir"),
    path("imports/fhir/<int:pk>/", health_record, name="health-record"),
    path("imports/fhir/items/<int:pk>/seen/", health_item_seen, name="health-item-seen"),
]
