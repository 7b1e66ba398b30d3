"""The record of actions, for auditors: search it, take it along, have its seals verified. Nothing here changes it.

Auditors alone: administrators are among those whose actions it holds, and what it says of children is medical.
"""

from __future__ import annotations

from datetime import date, tzinfo
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from compliance.api.limits import SearchLimit
from compliance.checks.recordsearch import found_actions, readable_chains
from compliance.reports.record_file import record_csv, record_xlsx
from compliance.web.limits import limited
from compliance.web.record_form import OF_NO_SITE, RecordForm
from compliance.web.record_lines import lines_of
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.models import Action, Verb
from roster.record.verify import faults
from roster.record.write import record as put_on_record

PER_PAGE = 25
MOST_EXPORTED = 20_000
MOST_FAULTS = 200
FILES = {
    "csv": (record_csv, "text/csv; charset=utf-8"),
    "xlsx": (record_xlsx, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
}

Chains = dict[int, Site | None]


@require_safe
@limited(SearchLimit)
def record(request: SignedInRequest) -> HttpResponse:
    """Show the entries that fit the search, the newest first."""
    chains = _chains(request)
    return render(request, "record/record.html", _page(request, chains, _form(request, chains)))


@require_safe
@limited(SearchLimit)
def record_export(request: SignedInRequest, suffix: str) -> HttpResponse:
    """Hand out all entries that fit the search as a file; that it was taken is the newest entry of the record."""
    chains = _chains(request)
    if suffix not in FILES:
        raise Http404("There is no such kind of file.")
    form = _form(request, chains)
    if form.is_valid():
        found = found_actions(form.search(), chains)
        if found.count() > MOST_EXPORTED:
            form.add_error(None, f"One file takes {MOST_EXPORTED:,} entries and there are more. Ask for fewer days.")
    if not form.is_valid():
        return render(request, "record/record.html", _page(request, chains, form), status=400)
    rows = list(found)
    search = form.search()
    site = chains.get(search.chain) if search.chain else _only(chains)
    put_on_record(
        Verb.EXPORTED, f"record of actions as {suffix}", site=site, rows=len(rows), first=search.first, last=search.last
    )
    make, content_type = FILES[suffix]
    name = f'attachment; filename="record-{search.first}-to-{search.last}.{suffix}"'
    return HttpResponse(make(rows), content_type=content_type, headers={"Content-Disposition": name})


@require_POST
@limited(SearchLimit)
def record_verify(request: SignedInRequest) -> HttpResponse:
    """Look for gaps and edits in the chains that the person may read, now, and list them."""
    chains = _chains(request)
    entries = Action.objects.filter(chain__in=chains).count()
    found = list(faults(list(chains)))
    put_on_record(Verb.CHECKED, "record of actions", site=_only(chains), entries=entries, faults=len(found))
    shown = [(str(chains.get(fault.chain) or OF_NO_SITE), fault) for fault in found[:MOST_FAULTS]]
    context = {"entries": entries, "faults": shown, "count": len(found), "places": _places(chains)}
    return render(request, "record/verify.html", context)


def _chains(request: SignedInRequest) -> Chains:
    chains = readable_chains(request.user)
    if not chains:
        raise Http404("You hold no post for which this page is meant.")
    return chains


def _only(chains: Chains) -> Site | None:
    """The one site whose record is read, where it is one."""
    return next(iter(chains.values())) if len(chains) == 1 else None


def _places(chains: Chains) -> list[str]:
    return [str(site or OF_NO_SITE) for site in chains.values()]


def _form(request: SignedInRequest, chains: Chains) -> RecordForm:
    zone, today = _clock(chains)
    return RecordForm(request.GET, chains=chains, today=today, zone=zone)


def _clock(chains: Chains) -> tuple[tzinfo, date]:
    """The clock by which days are told: that of the sites where they share one, else the service's own."""
    zones = {site.zone for site in chains.values() if site}
    zone = zones.pop() if len(zones) == 1 else timezone.get_default_timezone()
    return zone, timezone.now().astimezone(zone).date()


def _page(request: SignedInRequest, chains: Chains, form: RecordForm) -> dict[str, Any]:
    shown: dict[str, Any] = {"form": form, "several": len(chains) > 1, "zone": str(_clock(chains)[0])}
    if form.is_valid():
        page_of = Paginator(found_actions(form.search(), chains), PER_PAGE).get_page(request.GET.get("page"))
        shown |= {"page_of": page_of, "lines": lines_of(page_of.object_list)}
    return shown


urls = [
    path("record/", record, name="record"),
    path("record/verify/", record_verify, name="record-verify"),
    path("record/export.<slug:suffix>", record_export, name="record-export"),
]
