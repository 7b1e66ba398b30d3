"""What guardians send in about their own child: a dietary need, a request; and their own paper back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.translation import gettext
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.children_lines import lines_of
from compliance.web.guardian import own_child, shown_to_guardian
from compliance.web.guardian_form import GuardianSignedForm, NeedForm, RequestForm
from compliance.web.language import in_own_language
from compliance.web.numbers import row_number
from compliance.web.papers import hand_out
from compliance.web.signed_in import SignedInRequest
from roster.life.guardian import own_entries, send_in
from roster.models import Asks, GuardianEntry, Verb
from roster.record.write import record


@require_http_methods(["GET", "POST"])
@in_own_language
def guardian_need(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take in what a child is to be kept from. It protects from now."""
    own = own_child(request, pk)
    form = NeedForm(request)
    sent = _tried(form, lambda: send_in(child=own.child, sent_by=request.user, **form.said()))
    if sent:
        messages.success(
            request, gettext("Received. What you named is kept away from now on; licensed staff will look at it.")
        )
        return redirect("guardian-child", pk=own.child.pk)
    context = shown_to_guardian(child=own.child, site=own.site, form=form)
    return render(request, "guardian/need.html", context)


@require_http_methods(["GET", "POST"])
@in_own_language
def guardian_request(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take in a request to correct or to end something. Nothing changes by it before licensed staff have decided."""
    own = own_child(request, pk)
    lines = [line for line in lines_of(own.child, own.today, own.now) if not line.has_ended]
    form = RequestForm(request, lines=lines, initial=_initial(request))
    sent = _tried(form, lambda: send_in(child=own.child, sent_by=request.user, **form.said()))
    if sent:
        messages.success(
            request, gettext("Received. Nothing has changed yet: licensed staff decide, and their answer stands here.")
        )
        return redirect("guardian-child", pk=own.child.pk)
    context = shown_to_guardian(child=own.child, site=own.site, form=form)
    return render(request, "guardian/request.html", context)


def _initial(request: SignedInRequest) -> dict[str, Any]:
    """What the page was opened for: `?about=` names a version, which the form offers only if it is the child's."""
    about = request.GET.get("about", "")
    return {"about": about, "asks": Asks.CORRECT} if row_number(about) else {}


def _tried(form: GuardianSignedForm, send: Callable[[], GuardianEntry]) -> GuardianEntry | None:
    """Send a valid form in; what stands against it goes on the form, with all that was typed."""
    if not (form.is_bound and form.is_valid()):
        return None
    try:
        return send()
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None


@require_safe
def guardian_scan(request: SignedInRequest, pk: int) -> HttpResponseBase:
    """Hand the guardian's own paper back, as a file: a browser runs nothing that is in it. The reading is on record."""
    return scan_of(read_entry(request, own_entries(request.user), pk))


def read_entry(request: SignedInRequest, entries: QuerySet[GuardianEntry], pk: int) -> GuardianEntry:
    """Return the entry, if it is one of these, once it is on record who read it."""
    entry = get_object_or_404(entries, pk=pk)
    record(Verb.READ, entry, site=entry.child.site, child=entry.child, by=request.user.pk, page=request.path)
    return entry


def scan_of(entry: GuardianEntry) -> FileResponse:
    """Return the paper sent with an entry. Whoever calls has made sure who may open it."""
    return hand_out(entry.scan, entry.scan_type, f"guardian-paper-{entry.pk}")


urls = [
    path("family/<int:pk>/need/", guardian_need, name="guardian-need"),
    path("family/<int:pk>/request/", guardian_request, name="guardian-request"),
    path("family/papers/<int:pk>/", guardian_scan, name="guardian-scan"),
]
