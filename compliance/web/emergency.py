"""What to do when a child seems to be having a reaction. Open to everybody; names no drug and no dose."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe


@login_not_required
@require_safe
def emergency(request: HttpRequest) -> HttpResponse:
    """Show the steps. Reads nothing, so that it answers when little else does."""
    return render(request, "emergency/emergency.html")


urls = [path("emergency/", emergency, name="emergency")]
