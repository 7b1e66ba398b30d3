"""The page for a name that is locked for a while, after too many wrong passwords or codes."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from roster.accounts.locks import locked_until, name_tried


def locked_out(request: HttpRequest, response: HttpResponse | None, credentials: Any = None) -> HttpResponse:
    """Answer a request that the lock refused: what to do, and from when on. The same for names that do not exist.

    Called by the middleware of axes (AXES_LOCKOUT_CALLABLE), in the place of the page that would have been shown.
    """
    until = locked_until(request, name_tried(request, credentials))
    left = (until - timezone.now()) if until else timedelta()
    minutes = max(1, -(-left // timedelta(minutes=1)))
    page = render(request, "accounts/locked.html", {"minutes": minutes}, status=429)
    page.headers["Retry-After"] = str(minutes * 60)
    return page


def too_many(request: HttpRequest) -> HttpResponse:
    """Answer when one address tries too often, or one name fails too often from anywhere: see ACCOUNT_RATE_LIMITS."""
    page = render(request, "accounts/too-many.html", status=429)
    page.headers["Retry-After"] = "60"
    return page
