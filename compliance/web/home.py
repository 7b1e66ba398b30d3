"""The way in: each person is sent to the first page of their role."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import path
from django.views.decorators.http import require_safe

from compliance.web.navigation import PAGES, acting_role, held_roles
from compliance.web.signed_in import SignedInRequest
from menus.models import Site


@require_safe
def home(request: SignedInRequest) -> HttpResponse:
    """Send the person to the first page of the role they chose (`?role=`) or act in; say so when there is none yet."""
    held = held_roles(request)
    if request.GET.get("role") in held:
        request.session["role"] = request.GET["role"]
    role = acting_role(request, held)
    if role not in PAGES or not Site.objects.exists():
        return render(request, "home/home.html")
    return redirect(PAGES[role][0][0])


urls = [path("", home, name="home")]
