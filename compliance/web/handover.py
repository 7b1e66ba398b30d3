"""To hand over: a child's record for another school, its restrictions as FHIR, the guardian's copy."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.models import Referral
from compliance.reports.childfile import ChildFile
from compliance.reports.childrecord import transfer_document
from compliance.reports.childrecord_pdf import Document, document_pdf
from compliance.reports.guardiancopy import MOST_ACTIONS, guardian_document
from compliance.web.children_lines import lines_of, what
from compliance.web.gates import children_for
from compliance.web.language import language_of
from compliance.web.signed_in import SignedInRequest
from roster.fhir.give import give
from roster.life.approval import approvals_in
from roster.models import Action, Child, EmergencyPlan, LunchBox, Verb
from roster.record.write import record

PDF, FHIR = "application/pdf", "application/fhir+json"


@require_safe
def child_handover(request: SignedInRequest, pk: int) -> HttpResponse:
    """Offer what can be handed over of a child, and say what stays out of the FHIR file."""
    child = get_object_or_404(children_for(request), pk=pk)
    given = give(child)
    context = {
        "child": child,
        "site": child.site,
        "sent": [what(version) for version in given.sent],
        "left": [(what(version), version.get_basis_display()) for version in given.left],
    }
    return render(request, "handover/handover.html", context)


@require_safe
def child_record(request: SignedInRequest, pk: int) -> HttpResponse:
    """Hand out the record for whoever takes the child in."""
    file = file_of(get_object_or_404(children_for(request), pk=pk), timezone.now())
    return _pdf(request, file, "record", transfer_document(file))


@require_safe
def guardian_copy(request: SignedInRequest, pk: int) -> HttpResponse:
    """Hand out the guardian's copy, to the guardian or to licensed staff who print it, in `?language=`."""
    file = file_of(get_object_or_404(children_for(request), pk=pk), timezone.now())
    return _pdf(request, file, "copy", guardian_document(file, language_of(request)))


@require_safe
def child_fhir(request: SignedInRequest, pk: int) -> HttpResponse:
    """Hand out what the child may not have for its health, as a FHIR R4 bundle."""
    child = get_object_or_404(children_for(request), pk=pk)
    now = timezone.now()
    given = give(child, now)
    _on_record(request, child, "fhir", restrictions=[version.pk for version in given.sent])
    day = now.astimezone(child.site.zone).date() if child.site else now.date()
    name = f"restrictions-{child.site.code if child.site else 'child'}-{day}.json"
    return _file_out(json.dumps(given.bundle, indent=1, ensure_ascii=False).encode(), FHIR, name)


def file_of(child: Child, now: datetime) -> ChildFile:
    """All that is on record now. A fixed number of queries, and one for each enrolment's classroom."""
    site = child.site
    today = now.astimezone(site.zone).date() if site else now.date()
    enrolments = list(child.enrolments.select_related("classroom__site").order_by("-starts_on"))
    rooms = [each.classroom for each in enrolments if each.holds_on(today)]
    answered = Referral.objects.standing().filter(child=child).exclude(answered_at=None)
    return ChildFile(
        child=child,
        site=site,
        as_of=now,
        enrolments=enrolments,
        lines=lines_of(child, today, now),
        statements=list(child.statements.select_related("received_by").prefetch_related("reviews")),
        answers=list(answered.order_by("-answered_at")),
        textures=list(child.texture_levels.select_related("recorded_by")),
        boxes=list(LunchBox.objects.planned(now).filter(child=child).order_by("-day").prefetch_related("items")),
        approvals=approvals_in(rooms[0], today, now) if rooms else [],
        pointer=EmergencyPlan.objects.kept(now).filter(child=child).first(),
        actions=list(Action.objects.filter(child=child).order_by("-recorded_at", "-pk")[: MOST_ACTIONS + 1]),
    )


def _pdf(request: SignedInRequest, file: ChildFile, what_it_is: str, document: Document) -> HttpResponse:
    made = document_pdf(document)
    _on_record(request, file.child, what_it_is, language=document.lang)
    return _file_out(made, PDF, f"{file.file_name(what_it_is)}.pdf")


def _on_record(request: SignedInRequest, child: Child, what_it_is: str, **said: Any) -> None:
    record(Verb.EXPORTED, child, site=child.site, child=child, by=request.user.pk, what=what_it_is, **said)


def _file_out(made: bytes, content_type: str, name: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Content-Length": str(len(made))}
    return HttpResponse(made, content_type=content_type, headers=headers)


urls = [
    path("children/<int:pk>/hand-over/", child_handover, name="child-handover"),
    path("children/<int:pk>/hand-over/record.pdf", child_record, name="child-record"),
    path("children/<int:pk>/hand-over/copy.pdf", guardian_copy, name="guardian-copy"),
    path("children/<int:pk>/hand-over/restrictions.json", child_fhir, name="child-fhir"),
]
