"""Runs: every check that was made, what it read, what it found, and whether the same facts still give the same."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Model
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.readby import read_by
from compliance.checks.run import recompute
from compliance.models import Run, RunRestriction
from compliance.rules.values import Outcome
from compliance.web.place import place_of, sites_for
from compliance.web.signed_in import SignedInRequest
from menus.models import Label, RecipeVersion, WordReview

PER_PAGE = 25


@require_safe
def runs(request: SignedInRequest) -> HttpResponse:
    """List the runs of one site, the newest first."""
    place = place_of(request)
    page = Paginator(Run.objects.filter(site=place.site), PER_PAGE).get_page(request.GET.get("page"))
    return render(
        request,
        "runs/runs.html",
        {
            "place": place,
            "site": place.site,
            "page_of": page,
            "newest": Run.objects.newest_for(place.site),
        },
    )


@require_safe
def run(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show one run with the versions that it read."""
    shown = _run(request, pk)
    read = read_by(shown)
    found = shown.counts.get("verdicts", {})
    return render(
        request,
        "runs/run.html",
        {
            "run": shown,
            "site": shown.site,
            "as_of": shown.as_of,
            "labels": _versions(Label, read["labels"], by="product", name="name"),
            "recipes": _versions(RecipeVersion, read["recipes"], by="recipe", name="name"),
            "words": _versions(WordReview, read["words"], by="word", name="phrase"),
            "verdicts": [(each, found[each.code]) for each in reversed(Outcome) if each.code in found],
            "restrictions": RunRestriction.objects.filter(run=shown.reads_of).values("restriction").distinct().count(),
        },
    )


@require_POST
def run_again(request: SignedInRequest, pk: int) -> HttpResponse:
    """Work the run out again from the versions that it read, and say whether the result is the same."""
    shown = get_object_or_404(Run.objects.complete().filter(pk=_run(request, pk).pk))
    if recompute(shown) == shown.result_hash:
        messages.success(request, "Worked out again from the same versions: the result is the same to the letter.")
    else:
        messages.error(
            request,
            "Worked out again from the same versions: the result differs. The rules, the lexicon or the plan of work "
            "changed since. What the run found at its time stands here unchanged; check the site again for today.",
        )
    return redirect("run", pk=shown.pk)


def _run(request: SignedInRequest, pk: int) -> Run:
    sites = sites_for(request)
    return get_object_or_404(Run.objects.filter(site__in=sites).select_related("site", "food"), pk=pk)


def _versions(table: type[Model], ids: list[int], *, by: str, name: str) -> list[Any]:
    """The versions of one kind that the run read, by the name of what they are of. One query."""
    return list(table._default_manager.filter(pk__in=ids).select_related(by).order_by(f"{by}__{name}"))


urls = [
    path("runs/", runs, name="runs"),
    path("runs/<int:pk>/", run, name="run"),
    path("runs/<int:pk>/again/", run_again, name="run-again"),
]
