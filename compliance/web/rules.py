"""The catalogue of rules: what each judges, what it means, and on whose authority."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path
from django.views.decorators.http import require_safe

from compliance.rules.register import RULES


@require_safe
def rules(request: HttpRequest) -> HttpResponse:
    """Show every rule in force. Reads nothing from the database."""
    return render(request, "rules/rules.html", {"rules": RULES})


urls = [path("rules/", rules, name="rules")]
