"""What is due: statements that run out, wait for review, are wanting or never came; plans and textures to renew."""

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
from roster.access import children_with
from roster.life.allowance import void_by_label
from roster.life.due import due
from roster.life.plan_due import plans_due
from roster.life.texture import textures_due
from roster.permits import Act, Thing


@require_safe
def due_list(request: SignedInRequest) -> HttpResponse:
    """List what waits for licensed staff at one site, the most pressing first. The number of queries is fixed."""
    place = place_of(request)
    children = children_with(request.user, Thing.MEDICAL, Act.SIGN).filter(enrolments__classroom__site=place.site)
    found = due(children, place.today, timezone.now())
    groups = [
        (why, [(each, what(each.version)) for each in same]) for why, same in groupby(found, lambda each: each.why)
    ]
    void = [(each, what(each.allowance.restriction)) for each in void_by_label(children, place.today, timezone.now())]
    context = {"place": place, "site": place.site, "groups": groups, "count": len(found), "void": void}
    context["plans"] = plans_due(children, place.today, timezone.now())
    context["textures"] = textures_due(children, place.today, timezone.now())
    return render(request, "due/due.html", context)


urls = [path("due/", due_list, name="due")]
