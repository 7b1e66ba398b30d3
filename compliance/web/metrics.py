"""Figures for Prometheus, for whoever sends the token; read from the database when they are asked for."""

from __future__ import annotations

from secrets import compare_digest

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import path
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from prometheus_client.exposition import choose_encoder

from compliance.operations.metrics import registry


@login_not_required
@never_cache
@require_safe
def metrics(request: HttpRequest) -> HttpResponse:
    """Answer in whichever text format is asked for; 401 without the token (RFC 6750), 404 where none is set."""
    if not settings.METRICS_TOKEN:
        raise Http404("There are no figures to collect: METRICS_TOKEN is not set.")
    if not _has_token(request):
        return HttpResponse(
            "Send the token: Authorization: Bearer …\n",
            status=401,
            content_type="text/plain; charset=utf-8",
            headers={"WWW-Authenticate": 'Bearer realm="metrics"'},
        )
    encode, content_type = choose_encoder(request.headers.get("Accept", ""))
    return HttpResponse(encode(registry()), content_type=content_type)


def _has_token(request: HttpRequest) -> bool:
    given = request.headers.get("Authorization", "").encode()
    return compare_digest(given, f"Bearer {settings.METRICS_TOKEN}".encode())


urls = [path("metrics", metrics, name="metrics")]
