"""Write down what somebody reports that a child may not have: by kind, with its usual substances to confirm."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.http import require_http_methods

from compliance.web.children_lines import what
from compliance.web.report_form import ReportForm
from compliance.web.signed_in import SignedInRequest
from roster.access import children_to_report, is_licensed_for
from roster.kinds.kind import RestrictionKind, restriction_kinds
from roster.life.report import Report, report
from roster.models import Child


@require_http_methods(["GET", "POST"])
def child_report(request: SignedInRequest, pk: int) -> HttpResponse:
    """Ask for the kind; with `?kind=`, for the rest; record it."""
    child = get_object_or_404(children_to_report(request.user), pk=pk)
    if "kind" not in request.GET:
        return render(request, "report/kinds.html", {"child": child, "site": child.site, "families": _families()})
    kind = restriction_kinds().get(request.GET["kind"])
    if kind is None:
        raise Http404("There is no such kind of restriction.")
    licensed = is_licensed_for(request.user, child)
    form = ReportForm(request.POST if request.method == "POST" else None, kind=kind, licensed=licensed)
    if request.method == "POST" and form.is_valid() and (done := _save(request, child, form)):
        messages.success(request, _told(done))
        return redirect("child", pk=child.pk) if licensed else redirect("children")
    context = {"child": child, "site": child.site, "kind": kind, "form": form, "licensed": licensed}
    return render(request, "report/report.html", context)


def _families() -> list[tuple[str, list[RestrictionKind]]]:
    """The kinds by family, in the order in which the file first names each."""
    families: dict[str, list[RestrictionKind]] = {}
    for kind in restriction_kinds().values():
        families.setdefault(kind.family, []).append(kind)
    return list(families.items())


def _save(request: SignedInRequest, child: Child, form: ReportForm) -> Report | None:
    said, chosen = form.said(), form.chosen()
    try:
        with transaction.atomic():
            # With a related food ticked, the usual substances may all be taken off.
            wanted = [each for each in (said, chosen) if each and (each.substances or each.told or not chosen)]
            done = [report(child=child, said=each, reported_by=request.user) for each in wanted]
            return Report(
                tuple(version for each in done for version in each.recorded),
                tuple(version for each in done for version in each.kept),
            )
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None


def _told(done: Report) -> str:
    parts = []
    if done.recorded:
        names = "; ".join(what(version) for version in done.recorded)
        parts.append(f"Recorded: {names}. It protects from now, and licensed staff have it on their list.")
    if done.kept:
        names = "; ".join(what(version) for version in done.kept)
        parts.append(f"On record already, at least as strictly: {names}.")
    return " ".join(parts)


urls = [path("children/<int:pk>/report/", child_report, name="child-report")]
