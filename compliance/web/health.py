"""Whether the service is alive, and whether it is fit to answer. Open to strangers, so it names nobody and no site."""

from __future__ import annotations

from functools import lru_cache
from time import monotonic

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import path
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from compliance.operations.readiness import Readiness, State, readiness

KEPT_SECONDS = 5
"""For so long an answer stands: strangers who ask without end cost the database nothing."""


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """Answer 200 while the process answers at all: to be started anew if it does not."""
    return HttpResponse("ok\n", content_type="text/plain")


@login_not_required
@never_cache
@require_safe
def readyz(request: HttpRequest) -> HttpResponse:
    """Answer 200 when requests may be sent here, 503 when they would fail; what is wrong stands in the body as JSON."""
    found = _found(int(monotonic() // KEPT_SECONDS))
    status = 503 if found.state == State.NOT_READY else 200
    return JsonResponse({"state": found.state, "looked_at": found.looked_at}, status=status)


@lru_cache(maxsize=1)
def _found(moment: int) -> Readiness:
    return readiness()


urls = [path("healthz", healthz, name="healthz"), path("readyz", readyz, name="readyz")]
"""Addresses without a slash, so that no redirect stands between a probe and its answer."""
