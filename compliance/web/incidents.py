"""Incidents: opening one, and the list of those that are open."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods, require_safe

from compliance.checks.incident import open_incident
from compliance.models import Incident
from compliance.web.children_lines import what
from compliance.web.gates import children_for
from compliance.web.incident_form import IncidentForm
from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.access import may
from roster.life.report import Report
from roster.models import Child
from roster.permits import Act, Thing

PER_PAGE = 40


@require_safe
def incidents(request: SignedInRequest) -> HttpResponse:
    """List the incidents of the person's sites, the open ones first. The number of queries is fixed."""
    sites = sites_for(request)
    found = Incident.objects.with_state().filter(site__in=sites).select_related("child", "site", "opened_by")
    page = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    waiting = Incident.objects.open().filter(site__in=sites).count()
    return render(request, "incidents/incidents.html", {"page_of": page, "waiting": waiting, "site": sites[0]})


@require_http_methods(["GET", "POST"])
def incident_new(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take what somebody saw; gather what was on record; protect the child until licensed staff have looked."""
    child = get_object_or_404(children_for(request), pk=pk)
    site = child.site
    assert site is not None  # whoever is in care is enrolled
    form = IncidentForm(request.POST if request.method == "POST" else None, site=site)
    if request.method == "POST" and form.is_valid() and (kept := _tried(request, child, site, form)):
        reads = may(request.user, Thing.INCIDENT, Act.READ, site=site)
        return redirect("incident" if reads else "incident-note", pk=kept.pk)
    return render(request, "incidents/new.html", {"child": child, "site": site, "form": form})


def _tried(request: SignedInRequest, child: Child, site: Site, form: IncidentForm) -> Incident | None:
    typed = dict(form.cleaned_data)
    suspected = typed.pop("suspected")
    try:
        kept, protected = open_incident(
            child=child,
            site=site,
            opened_by=request.user,
            suspected=suspected.codes,
            unnamed=suspected.unknown,
            **typed,
        )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None
    messages.success(request, f"Kept as incident {kept.pk}, with what was on record. Licensed staff are told.")
    if protected:
        messages.success(request, _told(protected))
    return kept


def _told(protected: Report) -> str:
    versions = [*protected.recorded, *protected.kept]
    foods = "; ".join(what(version) for version in versions if version.substance)
    told = [version.told for version in versions if not version.substance]
    kept_away = [f"Kept away from now on, until licensed staff have looked: {foods}."] if foods else []
    return " ".join([*kept_away, *told])


urls = [
    path("incidents/", incidents, name="incidents"),
    path("children/<int:pk>/incidents/new/", incident_new, name="incident-new"),
]
