"""Treat checks made, for the classes that somebody may look into."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from compliance.checks.answers import Answers, answers_since
from compliance.models import TreatCheck
from compliance.rules.values import Outcome
from compliance.web.signed_in import SignedInRequest

PER_PAGE = 25


@dataclass(frozen=True, slots=True)
class Line:
    """One check with how many children stood at which outcome, and what licensed staff have answered since."""

    check: TreatCheck
    counts: tuple[tuple[Outcome, int], ...]
    answers: Answers


@require_safe
def treat_history(request: SignedInRequest) -> HttpResponse:
    """List the checks, the newest first."""
    page = Paginator(TreatCheck.objects.visible_to(request.user), PER_PAGE).get_page(request.GET.get("page"))
    answers = answers_since(page)
    lines = [Line(check, _counts(check), answers[check.pk]) for check in page]
    return render(request, "treat/history.html", {"lines": lines, "shown": page})


def _counts(check: TreatCheck) -> tuple[tuple[Outcome, int], ...]:
    withhold = {row["child_id"] for row in check.result["withhold"]}
    asked = [*check.result["refer"], *check.result.get("texture", [])]
    refer = {row["child_id"] for row in asked} - withhold
    counts = (
        (Outcome.WITHHOLD, len(withhold)),
        (Outcome.REFER, len(refer)),
        (Outcome.NONE_FOUND, check.result["none_found"]),
    )
    return tuple((outcome, count) for outcome, count in counts if count)


urls = [path("treat/history/", treat_history, name="treat-history")]
