"""Exceptions: which real child meets which dish that is to be withheld or referred."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.checks.coverage import coverage
from compliance.checks.exceptions import ExceptionRow, Look
from compliance.checks.lines import lines, with_questions
from compliance.checks.seen_to import with_seen_to
from compliance.reports.exceptions_csv import exceptions_csv
from compliance.reports.exceptions_head import exceptions_head
from compliance.reports.exceptions_xlsx import exceptions_xlsx
from compliance.rules.values import Outcome
from compliance.web.exceptions_form import ExceptionsForm
from compliance.web.place import sites_for
from compliance.web.signed_in import SignedInRequest
from menus.models import Site
from roster.access import visible_classrooms
from roster.models import Verb
from roster.permits import Act, Permit, Thing, holds
from roster.record.write import record

PER_PAGE = 50
EXPORT = Permit(Thing.EXCEPTION, Act.EXPORT)
FILES = {
    "csv": (exceptions_csv, "text/csv; charset=utf-8"),
    "xlsx": (exceptions_xlsx, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
}


@require_safe
def exceptions(request: SignedInRequest) -> HttpResponse:
    """Show the exceptions that fit the filter, page by page."""
    sites = sites_for(request)
    form = exceptions_form(request, sites)
    may_export = any(holds(post, EXPORT) for post in request.posts)
    shown = {"form": form, "site": sites[0], "several_sites": len(sites) > 1, "may_export": may_export}
    if form.is_valid():
        shown |= _found(request, form, sites)
    return render(request, "exceptions/found.html" if request.htmx else "exceptions/exceptions.html", shown)


@require_safe
def exceptions_export(request: SignedInRequest, suffix: str) -> HttpResponse:
    """Hand out all the exceptions that fit the filter as a file; a filter that is not valid leads back to the page."""
    sites = sites_for(request)
    if suffix not in FILES:
        raise Http404("There is no such kind of file.")
    form = exceptions_form(request, sites)
    if not form.is_valid():
        return render(request, "exceptions/exceptions.html", {"form": form, "site": sites[0]}, status=400)
    look = Look(request.user, form.filter())
    rows = _at(sites, look.exceptions())
    lifted = [row for row in _at(sites, look.lifted()) if row.outcome is Outcome.NONE_FOUND]
    head = exceptions_head(form.filter(), rows, sites=sites, user=request.user, at=timezone.now())
    make, content_type = FILES[suffix]
    for site in [form.cleaned_data["site"]] if form.cleaned_data["site"] else sites:  # so that each has it on record
        record(Verb.EXPORTED, f"exceptions as {suffix}", site=site, rows=len(_at((site,), rows)))
    name = f'attachment; filename="{head.file_name(suffix)}"'
    return HttpResponse(
        make(with_seen_to([*rows, *lifted]), head), content_type=content_type, headers={"Content-Disposition": name}
    )


def _found(request: SignedInRequest, form: ExceptionsForm, sites: tuple[Site, ...]) -> dict[str, Any]:
    asked = form.filter()
    look = Look(request.user, asked)
    rows = _at(sites, look.exceptions())
    counts = Counter(row.outcome for row in rows)
    covered = coverage([asked.site] if asked.site else sites, asked.first, asked.last)
    found = lines(rows)
    page_of = Paginator(found, PER_PAGE).get_page(request.GET.get("page"))
    return {
        "page_of": page_of,
        "lines": with_questions(page_of),
        "exceptions": len(rows),
        "grouped": len(found) < len(rows),
        "counts": [(outcome, counts[outcome]) for outcome in (Outcome.WITHHOLD, Outcome.REFER)],
        "children": len({row.child.pk for row in rows}),
        "lifted": _at(sites, look.lifted()),
        "coverage": covered,
        "looked": any(each.planned > each.unchecked for each in covered),
    }


def _at(sites: tuple[Site, ...], rows: list[ExceptionRow]) -> list[ExceptionRow]:
    """Those at the sites of the page: with another post one may see more, and not on this page or in this file."""
    return [row for row in rows if row.site in sites]


def exceptions_form(request: SignedInRequest, sites: tuple[Site, ...]) -> ExceptionsForm:
    """Return the filter that stands in the address, over what the person may see."""
    return ExceptionsForm(
        request.GET,
        sites=Site.objects.filter(pk__in=[site.pk for site in sites]),
        classrooms=visible_classrooms(request.user).filter(site__in=sites),
        today=timezone.now().astimezone(sites[0].zone).date(),
    )


urls = [
    path("exceptions/", exceptions, name="exceptions"),
    path("exceptions/export.<slug:suffix>", exceptions_export, name="exceptions-export"),
]
