"""What is due: statements that run out, wait for review, are wanting or never came."""

from __future__ import annotations

from itertools import groupby

from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path
from django.utils import timezone
from django.views.decorators.http import require_safe

from compliance.web.children_lines import what
from compliance.web.place import place_of
from compliance.web.signed_in import SignedInRequest
from roster.access import children_in_care
from roster.life.due import due
from roster.models import Role


@require_safe
def due_list(request: SignedInRequest) -> HttpResponse:
    """List what waits for licensed staff at one site, the most pressing first. The number of queries is fixed."""
    place = place_of(request, Role.LICENSED)
    children = children_in_care(request.user, Role.LICENSED).filter(enrolments__classroom__site=place.site)
    found = due(children, place.today, timezone.now())
    groups = [
        (why, [(each, what(each.version)) for each in same]) for why, same in groupby(found, lambda each: each.why)
    ]
    return render(request, "due/due.html", {"place": place, "site": place.site, "groups": groups, "count": len(found)})


urls = [path("due/", due_list, name="due")]
