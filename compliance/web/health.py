"""Whether the service answers and reaches its database. Open to strangers, so it says no more than that."""

from __future__ import annotations

import logging

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

logger = logging.getLogger(__name__)


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """Answer 200 when the database answers, 503 when it does not."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        logger.exception("The database does not answer.")
        return HttpResponse("no database\n", status=503, content_type="text/plain")
    return HttpResponse("ok\n", content_type="text/plain")


urls = [path("healthz", healthz, name="healthz")]
"""One address, without a slash, so that no redirect stands between a probe and its answer."""
