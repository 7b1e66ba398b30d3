"""What to do when a child seems to be having a reaction: for everybody, and with where one child's papers are."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import path
from django.views.decorators.http import require_safe

from compliance.checks.pointer import note_reading, pointer
from compliance.web.gates import children_for
from compliance.web.signed_in import SignedInRequest
from roster.access import may
from roster.permits import Act, Thing


@login_not_required
@require_safe
def emergency(request: HttpRequest) -> HttpResponse:
    """Show the steps. Reads nothing, so that it answers when little else does."""
    return render(request, "emergency/emergency.html")


@require_safe
def child_emergency(request: SignedInRequest, pk: int) -> HttpResponse:
    """Show where the child's plan is kept and whom to call. Writes nothing itself; the reading is noted after it."""
    child = get_object_or_404(children_for(request), pk=pk)
    shown = pointer(child)
    note_reading(child, request.user.pk)
    context = {
        "child": child,
        "site": shown.site,
        "pointer": shown,
        "plan": shown.plan,
        "may_keep": may(request.user, Thing.EMERGENCY, Act.CHANGE, site=shown.site),
    }
    return render(request, "emergency/child.html", context)


urls = [
    path("emergency/", emergency, name="emergency"),
    path("children/<int:pk>/emergency/", child_emergency, name="child-emergency"),
]
