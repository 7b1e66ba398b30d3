"""Nights, for administrators: how the checks of their sites went, what is late or given up, and trying it again."""

from __future__ import annotations

from datetime import datetime, tzinfo
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from compliance.checks.schedule import hour
from compliance.models import DeadLetter
from compliance.operations.letters import check_again, open_letters, try_again
from compliance.operations.nights import night_parts, nights_within
from compliance.operations.overdue import overdue_sites
from compliance.operations.scope import Scope
from compliance.web.gates import permit_of
from compliance.web.night_lines import LetterLine, OverdueLine, lines_of
from compliance.web.signed_in import SignedInRequest

PER_PAGE = 10
MOST_SHOWN = 50
"""Sites and letters shown at once; when more than that are late the fault is not with the sites."""


@require_safe
def nights(request: SignedInRequest) -> HttpResponse:
    """Show what wants somebody, then the nights, the newest first."""
    scope, now = _scope(request), timezone.now()
    late = overdue_sites(scope, now)
    # What was given up at a site that is late for a failure is told, and settled, with the site.
    letters = open_letters(scope).exclude(site__in=[each.site for each in late if each.failure])
    context = {
        **_progress(request, scope, now),
        "late": [OverdueLine.of(each, now) for each in late[:MOST_SHOWN]],
        "late_count": len(late),
        "letters": [LetterLine.of(each, now, tells_all=scope.is_all) for each in letters[:MOST_SHOWN]],
        "letter_count": letters.count(),
        "sites": len(scope.sites),
        "hours": sorted({hour(site) for site in scope.sites.values()}),
    }
    return render(request, "nights/nights.html", context)


@require_safe
def nights_now(request: SignedInRequest) -> HttpResponse:
    """Return the part of the page that changes while a night is under way."""
    shown = _progress(request, _scope(request), timezone.now())
    return render(request, "nights/progress.html", shown | {"asked_again": True})


@require_POST
def letter_again(request: SignedInRequest, pk: int) -> HttpResponse:
    """Settle what was given up, and have it done again."""
    letter = get_object_or_404(_theirs(request), pk=pk)
    if try_again(letter, request.user):
        messages.success(request, f"{letter.site or 'The sites of the slice'}: the check is in the queue again.")
    else:
        messages.info(request, "Somebody else, or a later check, has settled this already. Nothing was done twice.")
    return redirect("nights")


@require_POST
def site_again(request: SignedInRequest, pk: int) -> HttpResponse:
    """Have a site checked again."""
    site = _scope(request).sites.get(pk)
    if site is None:
        raise Http404("This site is not yours to see.")
    check_again(site, request.user)
    messages.success(request, f"{site}: a check is in the queue. Its result is here in a minute or two.")
    return redirect("nights")


def _theirs(request: SignedInRequest) -> Any:
    """All letters of one's sites, settled ones too: two people may press the same button."""
    scope = _scope(request)
    return DeadLetter.objects.all() if scope.is_all else DeadLetter.objects.filter(site__in=scope.sites)


def _scope(request: SignedInRequest) -> Scope:
    permit = permit_of(request)
    assert permit is not None
    return Scope.of(request.user, permit)


def _progress(request: SignedInRequest, scope: Scope, now: datetime) -> dict[str, Any]:
    shown = Paginator(nights_within(scope, now), PER_PAGE).get_page(request.GET.get("page"))
    lines = lines_of(night_parts(list(shown), scope, now))
    return {
        "shown": shown,
        "lines": lines,
        "under_way": [line for line in lines if line.part.is_under_way],
        "still": "still" in request.GET,
        "zone": _clock(scope),
        "as_of": now,
        "tells_all": scope.is_all,
    }


def _clock(scope: Scope) -> tzinfo:
    """The clock of the sites where they share one, else the service's own."""
    zones = {site.time_zone: site.zone for site in scope.sites.values()}
    return next(iter(zones.values())) if len(zones) == 1 else timezone.get_default_timezone()


urls = [
    path("nights/", nights, name="nights"),
    path("nights/now/", nights_now, name="nights-now"),
    path("nights/letters/<int:pk>/again/", letter_again, name="letter-again"),
    path("nights/sites/<int:pk>/again/", site_again, name="site-again"),
]
