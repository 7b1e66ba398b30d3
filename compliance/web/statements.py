"""Medical statements: receiving one with its scan, reading and reviewing it. Each reading is recorded."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from compliance.web.children_lines import lines_of
from compliance.web.gates import children_for
from compliance.web.papers import hand_out
from compliance.web.signed_in import SignedInRequest
from compliance.web.statements_form import ReviewForm, StatementForm
from roster.life.statement import receive_statement, review_statement
from roster.models import Restriction, Review, Statement, Verb
from roster.record.write import record
from roster.services import StaleVersion

Kept = TypeVar("Kept", Statement, Review)


def visible_statements(request: SignedInRequest) -> QuerySet[Statement]:
    """Return the statements of the children in the person's care as licensed staff."""
    return Statement.objects.filter(child__in=children_for(request)).select_related("child")


@require_http_methods(["GET", "POST"])
def statement_new(request: SignedInRequest, pk: int) -> HttpResponse:
    """Take in a statement: what it says, its scan, and which restrictions it speaks of."""
    child = get_object_or_404(children_for(request), pk=pk)
    site, now = child.site, timezone.now()
    assert site is not None
    today = now.astimezone(site.zone).date()
    lines = [line for line in lines_of(child, today, now) if line.version.is_medical and not line.has_ended]
    form = StatementForm(request, child=child, site=site, versions=[line.version for line in lines])
    stale: StaleVersion | None = None
    if request.method == "POST" and form.is_valid():
        kept, stale = _tried(form, lambda: receive_statement(child=child, received_by=request.user, **form.received()))
        if kept:
            messages.success(request, "Received and kept. What it names stands under it now; nothing got milder.")
            return redirect("statement", pk=kept.pk)
    context = {"child": child, "site": site, "form": form, "stale": stale}
    return render(request, "statements/new.html", context)


@require_safe
def statement(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show a statement, what it lacks by the rules of its program, and its reviews. The reading is recorded."""
    shown = _read(request, pk)
    return render(
        request,
        "statements/statement.html",
        {
            "statement": shown,
            "child": shown.child,
            "site": shown.child.site,
            "versions": _under(shown),
            "reviews": shown.reviews.select_related("reviewed_by"),
            "newer": Statement.objects.filter(replaces=shown).first(),
        },
    )


@require_safe
def statement_scan(request: SignedInRequest, pk: int) -> HttpResponseBase:
    """Hand out the scan."""
    shown = _read(request, pk)
    return hand_out(shown.scan, shown.scan_type, f"statement-{shown.pk}")


def _tried(form: StatementForm | ReviewForm, keep: Callable[[], Kept]) -> tuple[Kept | None, StaleVersion | None]:
    """Keep what a valid form says. What stands against it goes on the form; a newer version is returned."""
    try:
        return keep(), None
    except StaleVersion as error:
        form.take_newer(error)
        return None, error
    except ValidationError as error:
        form.add_error(None, ValidationError(error.messages))
        return None, None


def _read(request: SignedInRequest, pk: int) -> Statement:
    """Return the statement, once it is on record who read it."""
    shown = get_object_or_404(visible_statements(request), pk=pk)
    record(Verb.READ, shown, site=shown.child.site, child=shown.child, by=request.user.pk, page=request.path)
    return shown


@require_http_methods(["GET", "POST"])
def statement_review(request: SignedInRequest, pk: int) -> HttpResponse:
    """Let licensed staff say what they found in it, and put what it names in force."""
    shown = _read(request, pk)
    form = ReviewForm(request, statement=shown, versions=_under(shown), initial={"wanting": _lacks(shown)})
    stale: StaleVersion | None = None
    if request.method == "POST" and form.is_valid():
        done, stale = _tried(form, lambda: review_statement(statement=shown, reviewed_by=request.user, **form.found()))
        if done:
            messages.success(request, _told(done))
            return redirect("child", pk=shown.child_id)
    context: dict[str, Any] = {"statement": shown, "child": shown.child, "site": shown.child.site}
    return render(request, "statements/review.html", {**context, "form": form, "stale": stale})


def _under(shown: Statement) -> list[Restriction]:
    known = Restriction.objects.known(timezone.now()).filter(statement=shown)
    return list(known.select_related("review", "statement").order_by("substance"))


def _lacks(shown: Statement) -> str:
    return "\n".join(shown.wanting)


def _told(done: Review) -> str:
    return "Signed and kept; a better statement is on the list of what is due." if done.wanting else "Signed and kept."


urls = [
    path("children/<int:pk>/statements/new/", statement_new, name="statement-new"),
    path("statements/<int:pk>/", statement, name="statement"),
    path("statements/<int:pk>/scan/", statement_scan, name="statement-scan"),
    path("statements/<int:pk>/review/", statement_review, name="statement-review"),
]
