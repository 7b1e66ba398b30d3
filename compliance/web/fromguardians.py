"""From guardians: what families sent in, for licensed staff to look at and answer."""

from __future__ import annotations

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.children_lines import what
from compliance.web.fromguardians_form import EntryAnswerForm
from compliance.web.guardian_entry import read_entry, scan_of
from compliance.web.signed_in import SignedInRequest
from roster.kinds.kind import restriction_kinds
from roster.life.guardian import answer_entry, entries_in_care
from roster.life.spoken import heard
from roster.models import GuardianAnswer, GuardianEntry, Restriction

ANSWERED_PER_PAGE = 30


@require_safe
def from_guardians(request: SignedInRequest) -> HttpResponse:
    """List what waits for an answer, the oldest first, and what was answered."""
    entries = entries_in_care(request.user)
    waiting = entries.filter(answer=None).order_by("recorded_at", "pk")
    answered = entries.exclude(answer=None).order_by("-answer__recorded_at")
    page_of = Paginator(answered, ANSWERED_PER_PAGE).get_page(request.GET.get("page"))
    return render(request, "fromguardians/list.html", {"waiting": waiting, "answered": page_of})


@require_http_methods(["GET", "POST"])
def from_guardian(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one form as it was sent, what protects because of it, and take the answer. The reading is on record."""
    entry = read_entry(request, entries_in_care(request.user), pk)
    answered = getattr(entry, "answer", None)
    standing = _standing(entry)
    form = EntryAnswerForm(request, versions=standing)
    if request.method == "POST" and form.is_valid() and _answer(request, entry, form):
        messages.success(request, "Signed and kept. The guardian reads your answer; nothing got milder by it.")
        return redirect("from-guardians")
    return render(
        request,
        "fromguardians/entry.html",
        {
            "entry": entry,
            "child": entry.child,
            "site": entry.child.site,
            "answered": answered,
            "form": form,
            "protecting": [(version, what(version)) for version in standing],
            "heard": heard(entry.words) if entry.asks == "avoid" else (),
            "ways": [restriction_kinds()[code].name for code in entry.kinds],
        },
    )


@require_safe
def from_guardian_scan(request: SignedInRequest, pk: int) -> HttpResponseBase:
    """Hand out the paper that came with a form. The reading is on record."""
    return scan_of(read_entry(request, entries_in_care(request.user), pk))


def _standing(entry: GuardianEntry) -> list[Restriction]:
    """What the form recorded or found on record and still protects, at its newest version. Three queries."""
    chains = {version.chain for version in entry.restrictions.all()}
    known = Restriction.objects.known(timezone.now()).filter(child=entry.child).order_by("substance", "pk")
    today = entry.child.today
    return [version for version in known if version.chain in chains and not version.has_ended_by(today)]


def _answer(request: SignedInRequest, entry: GuardianEntry, form: EntryAnswerForm) -> GuardianAnswer | None:
    try:
        return answer_entry(entry=entry, answered_by=request.user, **form.answer())
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None


urls = [
    path("from-guardians/", from_guardians, name="from-guardians"),
    path("from-guardians/<int:pk>/", from_guardian, name="from-guardian"),
    path("from-guardians/<int:pk>/paper/", from_guardian_scan, name="from-guardian-scan"),
]
