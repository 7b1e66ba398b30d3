"""One incident: what was seen, what was on record, what was added; as a page and as a PDF."""

from __future__ import annotations

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.checks.incident import add_note, is_whole
from compliance.models import Incident
from compliance.reports.incident import IncidentReport, incident_pdf
from compliance.web.cautions import CAUTIONS
from compliance.web.handout import shown_pdf
from compliance.web.incident_form import NoteForm
from compliance.web.signed_in import SignedInRequest
from roster.access import children_with, is_licensed_for, visible_sites
from roster.models import Verb
from roster.permits import Act, Permit, Thing
from roster.record.write import record

PRINTED = ("gathered", "decides", "discreet")


def visible_incidents(request: SignedInRequest) -> QuerySet[Incident]:
    """Return the incidents that the person may read: all of the sites where their post says so."""
    sites = visible_sites(request.user, Permit(Thing.INCIDENT, Act.READ))
    return Incident.objects.with_state().filter(site__in=sites).select_related("child", "site", "opened_by")


def own_or_visible(request: SignedInRequest) -> QuerySet[Incident]:
    """Return those to which the person may add: what they may read, and what they opened themselves."""
    sites = visible_sites(request.user, Permit(Thing.INCIDENT, Act.READ))
    mine = Q(opened_by=request.user, site__in=visible_sites(request.user))
    found = Incident.objects.with_state().filter(Q(site__in=sites) | mine)
    return found.select_related("child", "site", "opened_by")


@require_safe
def incident(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show all of it. The reading is recorded."""
    shown = get_object_or_404(visible_incidents(request), pk=pk)
    record(Verb.READ, shown, site=shown.site, child=shown.child, by=request.user.pk)
    context = {
        "incident": shown,
        "child": shown.child,
        "site": shown.site,
        "gathered": shown.gathered,
        "notes": shown.notes.select_related("written_by"),
        "is_whole": is_whole(shown),
        "reads_child": children_with(request.user, Thing.MEDICAL, Act.READ).filter(pk=shown.child_id).exists(),
    }
    return render(request, "incidents/incident.html", context)


@require_http_methods(["GET", "POST"])
def incident_note(request: SignedInRequest, pk: int) -> HttpResponse:
    """Add to an incident. Whoever opened it reads here what they wrote, and no more."""
    shown = get_object_or_404(own_or_visible(request), pk=pk)
    may_close = not shown.is_closed and is_licensed_for(request.user, shown.child)
    form = NoteForm(request.POST if request.method == "POST" else None, may_close=may_close)
    reads = visible_incidents(request).filter(pk=pk).exists()
    if request.method == "POST" and form.is_valid():
        add_note(incident=shown, written_by=request.user, **form.cleaned_data)
        messages.success(request, "Added and kept.")
        return redirect("incident" if reads else "incident-note", pk=pk)
    mine = shown.notes.filter(written_by=request.user)
    context = {"incident": shown, "child": shown.child, "site": shown.site, "form": form, "reads": reads, "mine": mine}
    return render(request, "incidents/note.html", context)


@require_safe
def incident_report(request: SignedInRequest, pk: int) -> HttpResponse:
    """Hand out all of it as a PDF. That it was handed out is recorded."""
    shown = get_object_or_404(visible_incidents(request), pk=pk)
    report = IncidentReport(
        incident=shown,
        notes=tuple(shown.notes.select_related("written_by")),
        as_of=timezone.now(),
        is_whole=is_whole(shown),
        cautions=[CAUTIONS[name] for name in PRINTED],
    )
    made = incident_pdf(report)
    record(Verb.EXPORTED, shown, site=shown.site, child=shown.child, by=request.user.pk, form="pdf")
    return shown_pdf(made, f"incident-{shown.pk}.pdf")


urls = [
    path("incidents/<int:pk>/", incident, name="incident"),
    path("incidents/<int:pk>/note/", incident_note, name="incident-note"),
    path("incidents/<int:pk>/report.pdf", incident_report, name="incident-report"),
]
